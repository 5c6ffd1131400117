package results

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"testing"
)

func seeds(f *testing.F, pattern string) {
	paths, err := filepath.Glob(filepath.Join("..", "testdata", "runs", pattern))
	if err != nil || len(paths) == 0 {
		f.Fatal(pattern, err)
	}
	for _, path := range paths {
		data, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
}

// Any bytes as a manifest: an error, or what encodes to the same bytes.
func FuzzManifest(f *testing.F) {
	seeds(f, "*/manifest.json")
	f.Add([]byte(`{"format": 1}`))
	f.Add([]byte(`{"format": 1, "rows": -1,` + checksumKey + `"0"` + "\n}\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := decodeManifest(data)
		if err != nil {
			// The content behind the checksum, too, must be an error or sound.
			m = forged(data)
			if m == nil {
				return
			}
			data = m.encode()
			if m, err = decodeManifest(data); err != nil {
				return
			}
		}
		if !bytes.Equal(m.encode(), data) {
			t.Errorf("%s\nencodes to\n%s", data, m.encode())
		}
		columns, n := storedColumns(m.Columns)
		if len(columns) != len(m.Columns) || n > len(columns) {
			t.Errorf("%d columns, %d parameters, of %d", len(columns), n, len(m.Columns))
		}
	})
}

// forged reads a manifest whose checksum does not matter.
func forged(data []byte) *Manifest {
	at := bytes.LastIndex(data, []byte(checksumKey))
	if at < 0 {
		return nil
	}
	body := bytes.TrimSuffix(data[:at], []byte(","))
	m, err := decodeManifest(append(bytes.Clone(data[:at+len(checksumKey)]), "\""+sha(data[:at+1])+"\"\n}\n"...))
	if err != nil || len(body) == 0 {
		return nil
	}
	return m
}

// Any bytes as a part: an error, or rows up to the end. Never a panic. Bytes
// whose checksums someone has made fit are not tried: the Parquet library then
// believes any length, and asks for that much memory.
func FuzzPart(f *testing.F) {
	seeds(f, "*/parts/*.parquet")
	seeds(f, "*/candidates.parquet")
	f.Fuzz(func(t *testing.T, data []byte) {
		path := filepath.Join(t.TempDir(), "1.parquet")
		if err := os.WriteFile(path, data, 0o666); err != nil {
			t.Fatal(err)
		}
		if table, err := openTable(osDisk{}, path, true); err == nil {
			r := table.read()
			for err == nil {
				_, err = r.next()
			}
			if err != io.EOF {
				t.Error(err)
			}
			r.close()
			table.Close()
		}
		if table, groups, err := openDamaged(osDisk{}, path); err == nil {
			table.pages(groups)
			table.Close()
		}
	})
}

// Any bytes as a log: whole entries, and where they end.
func FuzzLog(f *testing.F) {
	seeds(f, "*/log.txt")
	f.Add([]byte("design 1, x, 9999999999999999999 bytes, crc32 00000000\n"))
	f.Add([]byte("design 1, x, -5 bytes, crc32 00000000\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		_, whole, err := readLog(data)
		if whole > len(data) || err == nil && whole != len(data) {
			t.Fatal(whole, len(data), err)
		}
		if _, again, err := readLog(data[:whole]); again != whole || err != nil {
			t.Error(again, whole, err)
		}
	})
}
