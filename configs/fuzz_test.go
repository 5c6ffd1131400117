package configs

import (
	"bytes"
	"os"
	"testing"

	"flexwright/models"
)

func seed(f *testing.F, patterns ...string) {
	for _, pattern := range patterns {
		for _, path := range globbed(f, pattern) {
			data, err := os.ReadFile(path)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(data)
		}
	}
}

// Whatever the bytes: an answer without a panic, problems that can be printed, or
// a brief that resolves to itself and makes a valid space.
func FuzzLoad(f *testing.F) {
	seed(f, "../testdata/briefs/*.yaml", "examples/*.yaml")
	f.Fuzz(func(t *testing.T, data []byte) {
		b, problems := Load("fuzz", data, Layouts(), models.Materials())
		if problems != nil {
			complete(t, problems)
			return
		}
		if err := b.Space().Validate(); err != nil {
			t.Fatal(err)
		}
		resolved := b.Resolved()
		again, problems := Load("resolved", resolved, Layouts(), models.Materials())
		if problems != nil {
			t.Fatalf("%v\n%s", problems, resolved)
		}
		if !bytes.Equal(again.Resolved(), resolved) {
			t.Fatalf("resolved twice:\n%s\n%s", resolved, again.Resolved())
		}
		sameSpec(t, b.Spec(), again.Spec())
	})
}

// Likewise: problems, or an assembly that is written and read back unchanged.
func FuzzLoadAssembly(f *testing.F) {
	seed(f, "../testdata/assemblies/*.json")
	f.Fuzz(func(t *testing.T, data []byte) {
		topology, stage, problems := LoadAssembly("fuzz", data)
		if problems != nil {
			complete(t, problems)
			return
		}
		roundTrip(t, topology, stage)
	})
}

// Likewise: problems, or measurements that a fit may be made of.
func FuzzLoadMeasured(f *testing.F) {
	seed(f, "../testdata/measured/*.yaml", "examples/measured/*.yaml")
	data, err := os.ReadFile("examples/built_scanner.yaml")
	if err != nil {
		f.Fatal(err)
	}
	brief, problems := Load("built", data, Layouts(), models.Materials())
	if problems != nil {
		f.Fatal(problems)
	}
	spec := brief.Spec()
	spec.Pin([]float64{0})
	f.Fuzz(func(t *testing.T, data []byte) {
		data = append(data, "\nproposals: []"...) // the default ones take a while
		m, problems := LoadMeasured("fuzz", data, spec)
		if problems != nil {
			complete(t, problems)
			return
		}
		if len(m.List) == 0 || len(m.Unknowns) == 0 {
			t.Fatal("accepted without measurements or unknowns")
		}
		for _, q := range append(m.List, m.Proposals...) {
			if !(q.Sigma > 0) || q.Value-q.Value != 0 {
				t.Fatalf("%+v", q)
			}
		}
		for _, u := range m.Unknowns {
			if !(u.Prior > 0) {
				t.Fatalf("%+v", u)
			}
		}
	})
}

func FuzzParseQuantity(f *testing.F) {
	for _, text := range []string{"48 mm", "1e-3 m", "5 µm", "0.5mm", "010 mm", ".inf", "3 N·m/rad", "1_0 mm", "1,5 mm"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		v, err := ParseQuantity(text, models.Millimetre)
		if err != nil {
			return
		}
		if back, err := ParseQuantity(FormatQuantity(v, models.Millimetre), models.Millimetre); err != nil || back != v {
			t.Fatalf("%q: %v, back %v, %v", text, v, back, err)
		}
	})
}

// complete demands of every problem what is promised of it.
func complete(t *testing.T, problems Problems) {
	t.Helper()
	for _, p := range problems {
		if p.Line < 1 || p.Column < 1 || p.Message == "" || p.Accepted == "" || p.String() == "" {
			t.Fatalf("incomplete problem: %+v", p)
		}
	}
}
