package expression

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"flexwright/models"
)

type said struct {
	offset int
	text   string
}

// compiled returns the value of a formula with length l = 20 mm, t = 0.5 mm, mass
// m = 2 kg, angle turn = 0.5 rad, number n = 3, and what was refused.
func compiled(formula string, derived map[string]string) (value float64, v Value, problems []said) {
	refuse := func(_ *Text, offset int, accepted, message string) {
		problems = append(problems, said{offset, message + " | " + accepted})
	}
	inputs := []struct {
		name  string
		d     models.Dimension
		value float64
	}{{"l", models.Length, 20e-3}, {"t", models.Length, 0.5e-3}, {"m", models.Mass, 2}, {"turn", models.Angle, 0.5}, {"n", models.Number, 3}}
	b := NewBuilder(len(inputs), refuse, func(string, []string) string { return "" })
	for i, in := range inputs {
		p, _ := Of(in.d)
		b.Input(in.name, i, p, nil)
	}
	for name, text := range derived {
		b.Define(name, &Text{Value: text})
	}
	v = b.compile(&Text{Value: formula})
	b.Settle()
	if !b.OK() {
		return 0, v, problems
	}
	p := b.Program()
	r := make([]float64, p.Registers())
	for i, in := range inputs {
		r[i] = in.value
	}
	p.Run(r)
	return r[b.Register(v)], v, problems
}

// Values worked by hand.
func TestValues(t *testing.T) {
	derived := map[string]string{"q": "t/2 + 0.5 mm", "area": "l*t", "chain": "2*q"}
	for _, c := range []struct {
		formula string
		want    float64
	}{
		{"8 mm", 8e-3},
		{"0.3 mm", 0.3e-3},
		{"1e3 um", 1e-3},
		{"30°", math.Pi / 6},
		{"1/2", 0.5},
		{"l + 2*t", 21e-3},
		{"l - t - t", 19e-3},
		{"-l/-n", 20e-3 / 3},
		{"max(8 mm, 10*t, l/4)", 8e-3},
		{"min(l, t)", 0.5e-3},
		{"abs(t - l)", 19.5e-3},
		{"sqrt(area)", math.Sqrt(1e-5)},
		{"sin(turn)*l", math.Sin(0.5) * 20e-3},
		{"cos(60 deg)", 0.5},
		{"atan2(t, l)", math.Atan2(0.5, 20)},
		{"if(l > t, m, 3 kg)", 2},
		{"if(l < t || n == 3 && !(n != 3), 1, 2)", 1},
		{"if(l >= t, 0, l)", 0},
		{"if(n <= 2, 1 mm, 2 mm)", 2e-3},
		{"max(0, t - l)", 0},
		{"chain", 1.5e-3},
		{"turn/(1 rad)", 0.5},
		{"l*l*m/(t*t)", 3200},
		{"20 g + m", 2.02},
	} {
		got, _, problems := compiled(c.formula, derived)
		if problems != nil {
			t.Errorf("%s: %v", c.formula, problems)
		} else if math.Abs(got-c.want) > 1e-15*math.Max(1, math.Abs(c.want)) {
			t.Errorf("%s = %.17g, by hand %.17g", c.formula, got, c.want)
		}
	}
}

// Every mistake is found where it stands (offset in bytes).
func TestRefused(t *testing.T) {
	for _, c := range []struct {
		formula string
		offset  int
		message string
	}{
		{"l + turn", 2, "cannot add: a length and an angle"},
		{"2*(l - m)", 5, "cannot subtract: a length and a mass"},
		{"l + 5", 2, "cannot add: a length and a plain number"},
		{"max(l, 10)", 7, "cannot compare: a length and a plain number"},
		{"sqrt(l)", 5, "a length has no root"},
		{"sin(l)", 4, "is a length, not an angle"},
		{"atan2(l, m)", 9, "two sides of an angle: a length and a mass"},
		{"if(l, 1, 2)", 3, "the condition of an if is a length"},
		{"if(l > t, l, m)", 13, "two values of an if: a length and a mass"},
		{"if l > t", 3, "not a formula"},
		{"if", 0, "if takes a condition"},
		{"l > m", 2, "cannot compare: a length and a mass"},
		{"(l > t) + 1", 8, "+ takes numbers, not comparisons"},
		{"l && t", 2, "&& joins comparisons"},
		{"!l", 1, "! is for comparisons"},
		{"-(l > t)", 1, "a comparison has no sign"},
		{"max(l > t, l < t)", 4, "max of a comparison"},
		{"length", 0, "there is no length"},
		{"l + mm", 4, "a unit stands behind a number"},
		{"8 inch", 2, "inch is no unit"},
		{"l^2", 1, "there is no operation ^: write a power as a product"},
		{"l % t", 2, "there is no operation %"},
		{"l +", 3, "not a formula"},
		{"(l", 2, "not a formula"},
		{"l = t", 2, "= assigns"},
		{"tan(turn)", 0, "there is no function tan"},
		{"max(l)", 0, "max with 1 values"},
		{"abs(l, t)", 0, "abs with 2 values"},
		{"max", 0, "max is a function"},
		{"0x10", 0, "0x10 is no decimal number"},
		{"010", 0, "010 is no decimal number"},
		{"1_000", 0, "1_000 is no decimal number"},
		{"3i", 0, "3i is no decimal number"},
		{"'a'", 0, "'a' is no decimal number"},
		{`"a"`, 0, `"a" is no decimal number`},
		{"1e999 m", 0, "is no decimal number"},
		{"l[0]", 0, "no place in a formula"},
		{"func() {}", 0, "no place in a formula"},
		{"l.t", 0, "no place in a formula"},
		{"max(l...)", 0, "no place in a formula"},
		{"&l", 0, "there is no operation &"},
		{"", 0, "there is no formula"},
		{"   ", 0, "there is no formula"},
		{strings.Repeat("l+", 1500) + "l", 0, "too long"},
		{"µ°", 0, "there is no"},
	} {
		_, _, problems := compiled(c.formula, nil)
		if len(problems) == 0 {
			t.Errorf("%q is accepted", c.formula)
			continue
		}
		if p := problems[0]; p.offset != c.offset || !strings.Contains(p.text, c.message) {
			t.Errorf("%q: at %d: %s; wanted at %d: %s", c.formula, p.offset, p.text, c.offset, c.message)
		}
	}
	// Everything that is wrong is said once.
	_, _, problems := compiled("max(x, l + turn) + y", nil)
	if len(problems) != 3 {
		t.Errorf("three mistakes: %v", problems)
	}
}

// What needs itself is refused, with the way around.
func TestCycle(t *testing.T) {
	_, _, problems := compiled("l", map[string]string{"a": "b + l", "b": "max(c, t)", "c": "a"})
	if len(problems) != 1 {
		t.Fatal(problems)
	}
	for _, way := range []string{"a needs b needs c needs a", "b needs c needs a needs b", "c needs a needs b needs c"} {
		if strings.Contains(problems[0].text, way) {
			return
		}
	}
	t.Error(problems)
}

// A rule stands in for an input that is NaN, and rules may need one another.
func TestRule(t *testing.T) {
	b := NewBuilder(3, func(_ *Text, _ int, _, message string) { t.Error(message) }, nil)
	length := Powers{Metre: 1}
	b.Input("a", 0, length, nil)
	b.Input("b", 1, length, &Text{Value: "c + 1 mm"})
	b.Input("c", 2, length, &Text{Value: "2*a"})
	v, w := b.Value("b"), b.Value("c")
	p := b.Program()
	for _, c := range [][4]float64{{math.NaN(), math.NaN(), 3e-3, 2e-3}, {math.NaN(), 5e-3, 6e-3, 5e-3}, {7e-3, math.NaN(), 7e-3, 2e-3}} {
		r := make([]float64, p.Registers())
		r[0], r[1], r[2] = 1e-3, c[0], c[1]
		p.Run(r)
		if r[b.Register(v)] != c[2] || r[b.Register(w)] != c[3] {
			t.Errorf("b %g, c %g: %g, %g", c[0], c[1], r[b.Register(v)], r[b.Register(w)])
		}
	}
}

func TestUndefined(t *testing.T) {
	for _, c := range []struct {
		formula string
		offset  int
		what    string
	}{
		{"1/(l - 40*t)", 1, "division by zero"},
		{"l + sqrt(t*t - l*l)", 4, "the root of a negative number"},
		{"if(l > t, l, sqrt((t - l)*t))", -1, ""},
		{"if(l > t, 1, 1 mm/(l - 40*t))", -1, ""},
	} {
		var problems []said
		b := NewBuilder(2, func(_ *Text, offset int, _, message string) { problems = append(problems, said{offset, message}) }, nil)
		b.Input("l", 0, Powers{Metre: 1}, nil)
		b.Input("t", 1, Powers{Metre: 1}, nil)
		b.Free(&Text{Value: c.formula})
		if problems != nil {
			t.Fatal(problems)
		}
		p := b.Program()
		r := make([]float64, p.Registers())
		r[0], r[1] = 20e-3, 0.5e-3
		p.Run(r)
		text, offset, what := p.Undefined(r)
		if what != c.what || text != nil && offset != c.offset {
			t.Errorf("%s: at %d: %q", c.formula, offset, what)
		}
	}
}

// Equal subexpressions are computed once, constants not at all.
func TestSharing(t *testing.T) {
	b := NewBuilder(1, func(_ *Text, _ int, _, message string) { t.Error(message) }, nil)
	b.Input("a", 0, Powers{Metre: 1}, nil)
	b.Free(&Text{Value: "2*a + 1 mm"})
	b.Free(&Text{Value: "(2*a + 1 mm)/(2*a)"})
	b.Free(&Text{Value: "3*4 + sqrt(2)"})
	if p := b.Program(); len(p.code) != 3 {
		t.Errorf("%d instructions for 2a, 2a + 1 mm and their ratio", len(p.code))
	}
}

func TestConditions(t *testing.T) {
	for _, c := range []struct {
		text    string
		atLeast bool
		left    float64
		right   float64
	}{{"l >= 10*t", true, 20e-3, 5e-3}, {"(l - t < 1 m)", false, 19.5e-3, 1}, {"t > 0", true, 0.5e-3, 0}} {
		b := NewBuilder(2, func(_ *Text, _ int, _, message string) { t.Error(message) }, nil)
		b.Input("l", 0, Powers{Metre: 1}, nil)
		b.Input("t", 1, Powers{Metre: 1}, nil)
		condition, ok := b.Condition(&Text{Value: c.text})
		if !ok {
			continue
		}
		p := b.Program()
		r := make([]float64, p.Registers())
		r[0], r[1] = 20e-3, 0.5e-3
		p.Run(r)
		left, right := r[b.Register(condition.Left)], r[b.Register(condition.Right)]
		if condition.AtLeast() != c.atLeast || left != c.left || right != c.right || condition.Right.Powers != (Powers{Metre: 1}) {
			t.Errorf("%s: %v %g %g", c.text, condition.AtLeast(), left, right)
		}
	}
	for _, text := range []string{"l", "l > t && l < 1 m", "l == t", "1 > 2 mm", "min(l, t)", "l >"} {
		refused := 0
		b := NewBuilder(2, func(*Text, int, string, string) { refused++ }, nil)
		b.Input("l", 0, Powers{Metre: 1}, nil)
		b.Input("t", 1, Powers{Metre: 1}, nil)
		if _, ok := b.Condition(&Text{Value: text}); ok || refused == 0 {
			t.Errorf("%q is accepted", text)
		}
	}
}

func TestRunAllocatesNothing(t *testing.T) {
	b := NewBuilder(1, nil, nil)
	b.Input("a", 0, Powers{Metre: 1}, nil)
	b.Free(&Text{Value: "if(a > 1 mm, sqrt(a*a), atan2(a, 2 mm)*a/(1 rad)) + max(a, 1 mm)"})
	p := b.Program()
	if n := testing.AllocsPerRun(100, func() {
		var r [Registers]float64
		r[0] = 2e-3
		p.Run(r[:])
	}); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

// Too many operations are refused once, not overrun.
func TestTooMany(t *testing.T) {
	refused := 0
	b := NewBuilder(1, func(*Text, int, string, string) { refused++ }, nil)
	b.Input("a", 0, Powers{Metre: 1}, nil)
	for i := range 2 * Registers {
		b.Define(fmt.Sprintf("d%d", i), &Text{Value: fmt.Sprintf("a + %d mm", i+1)})
	}
	b.Settle()
	if refused != 1 || b.OK() {
		t.Errorf("refused %d times", refused)
	}
}

// FuzzFormula: any text is compiled or refused with a place inside it, and what is
// compiled runs.
func FuzzFormula(f *testing.F) {
	for _, seed := range []string{"l + 2*t", "if(l > t, 8 mm, max(l, 30°*l/(1 rad)))", "((((", "1e400 mm", "if if if", "µ°Ω", "sqrt(l*l)", "0/0", "-9223372036854775808"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		_, _, problems := compiled(text, map[string]string{"own": text})
		for _, p := range problems {
			if p.offset < 0 || p.offset > len(text)+1 {
				t.Errorf("%q: %q at %d", text, p.text, p.offset)
			}
		}
	})
}
