package results

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strconv"
	"strings"
	"syscall"

	"flexwright/objective"
)

// Format is the version of the run folder that this package writes. It reads
// format 1 too, and continues no run of it. FORMAT.md describes both.
const Format = 2

// formerNames are the columns that were called otherwise in format 1.
var formerNames = map[string]string{"bandwidth_hz": "crossover_hz", "bandwidth_end": "crossover_end"}

// currentName is the name of a column of a file of a format: what the format calls bandwidth is
// the crossover of the loop.
func currentName(format int, name string) string {
	if format == 1 {
		fine := strings.HasPrefix(name, "fine_")
		if now, ok := formerNames[strings.TrimPrefix(name, "fine_")]; ok && fine {
			return "fine_" + now
		} else if ok {
			return now
		}
	}
	return name
}

const (
	manifestName   = "manifest.json"
	briefName      = "brief.yaml"
	briefsName     = "briefs"
	partsName      = "parts"
	candidatesName = "candidates.parquet"
	frontName      = "front.parquet"
	logName        = "log.txt"
	lockName       = "lock"
	receivedName   = "received"
	layoutsName    = "layouts"
	reportName     = "report.html" // made from a run by report, no part of it
)

// Identity is what makes two runs the same.
type Identity struct {
	Version  string `json:"version"`
	Platform string `json:"platform"` // as Platform returns it
	Seed     uint64 `json:"seed"`
	Shard    Shard  `json:"shard"`
	// Resolved is the SHA-256, hexadecimal, of the resolved brief but for its title and the length of its plan.
	Resolved string `json:"resolved_sha256"`
}

// Plan is how far a run was asked to go: of its brief what may grow. A run that was
// extended has one for each time.
type Plan struct {
	Brief     string `json:"brief_sha256"` // of the brief.yaml that asked for it
	Method    string `json:"method"`       // evolve, latin, sobol or grid
	Length    int64  `json:"length"`       // designs of a sweep, generations of an evolution, 0 of a grid
	Surrogate bool   `json:"surrogate"`    // in what it goes beyond the plan before; auto stays as first resolved
}

// Shard is "2/8", or empty for a whole run. It is null in JSON then.
type Shard string

func (s Shard) MarshalJSON() ([]byte, error) { return marshalNull(string(s)) }

func marshalNull(s string) ([]byte, error) {
	if s == "" {
		return []byte("null"), nil
	}
	return json.Marshal(s)
}

// Cause is one of the By constants, or empty while a run is running. It is
// null in JSON then.
type Cause string

func (c Cause) MarshalJSON() ([]byte, error) { return marshalNull(string(c)) }

// What ended a run.
const (
	ByPlan        Cause = "plan"
	ByMaxDesigns  Cause = "max_designs"
	ByTime        Cause = "time"
	ByStagnation  Cause = "stagnation"
	ByNoPointLeft Cause = "no_point_left"
	BySignal      Cause = "signal"
	ByCannotWrite Cause = "cannot_write"
)

// State is how far a run is.
type State string

const (
	Running State = "running" // or crashed
	Stopped State = "stopped" // by a signal or a write error: it goes on with the next run
	Ended   State = "ended"   // by its plan, or a bound that was asked for
)

// state that goes with a cause.
func (c Cause) state() State {
	switch c {
	case "":
		return Running
	case BySignal, ByCannotWrite:
		return Stopped
	case ByPlan, ByMaxDesigns, ByTime, ByStagnation, ByNoPointLeft:
		return Ended
	}
	panic("results: unknown cause of an end")
}

// Goal is a column to be made as small or as large as possible.
type Goal struct {
	Column string `json:"column"`
	Sense  string `json:"sense"` // most or least
}

// ColumnInfo describes a column of the rows.
type ColumnInfo struct {
	Name    string `json:"name"`
	Unit    string `json:"unit"`
	Meaning string `json:"meaning"`
}

// LayoutInfo is a layout file that a brief names, kept in layouts/NAME.layout.yaml.
type LayoutInfo struct {
	Name string `json:"name"`
	Sum  string `json:"sha256"`
}

// RunInfo is one of the runs of a folder that was joined from separate ones.
type RunInfo struct {
	Identity
	Brief    string `json:"brief_sha256"`
	Plans    []Plan `json:"plans,omitempty"`
	Rows     int64  `json:"rows"`
	Feasible int64  `json:"feasible"`
	State    State  `json:"state"`
	EndedBy  Cause  `json:"ended_by"`
}

// Manifest is manifest.json.
type Manifest struct {
	Format int `json:"format"`
	Identity
	Brief    string       `json:"brief_sha256"`
	Goals    []Goal       `json:"goals"`
	Columns  []ColumnInfo `json:"columns"`
	Plans    []Plan       `json:"plans,omitempty"`   // at least one; none in format 1 and of runs joined
	Layouts  []LayoutInfo `json:"layouts,omitempty"` // of the user's own
	Alone    []Lonely     `json:"alone,omitempty"`   // of an island: exchanges at which the other did not come
	Missing  []string     `json:"missing,omitempty"` // shards that were not finished when the others were joined
	Rows     int64        `json:"rows"`
	Feasible int64        `json:"feasible"`
	State    State        `json:"state"`
	EndedBy  Cause        `json:"ended_by"`
	Runs     []RunInfo    `json:"runs,omitempty"` // of a joined folder
}

// Run returns the SHA-256 of the identity, which every Parquet file carries.
func (id *Identity) Run() string {
	h := sha256.New()
	for _, s := range []string{id.Version, id.Platform, strconv.FormatUint(id.Seed, 10), string(id.Shard), id.Resolved} {
		h.Write([]byte(s + "\n"))
	}
	return hex.EncodeToString(h.Sum(nil))
}

// identityJSON is what of the manifest every Parquet file carries, so that the
// manifest can be made again from any of them.
func (m *Manifest) identityJSON() string {
	text, err := json.Marshal(struct {
		Format int `json:"format"`
		Identity
		Brief   string       `json:"brief_sha256"`
		Goals   []Goal       `json:"goals"`
		Plans   []Plan       `json:"plans,omitempty"`
		Layouts []LayoutInfo `json:"layouts,omitempty"`
	}{m.Format, m.Identity, m.Brief, m.Goals, m.Plans, m.Layouts})
	if err != nil {
		panic("results: an identity that JSON cannot hold")
	}
	return string(text)
}

// Platform names the family of machines within which results are equal bit for
// bit: GOARCH and, where the program was built for one, the level of it.
func Platform() string {
	name := runtime.GOARCH
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			switch s.Key {
			case "GOAMD64", "GOARM64", "GOARM", "GO386", "GOPPC64", "GORISCV64", "GOMIPS64":
				name += " " + s.Value
			}
		}
	}
	return name
}

// Infos returns the description of columns that a manifest holds.
func infos(columns []objective.Column) []ColumnInfo {
	list := make([]ColumnInfo, len(columns))
	for i := range columns {
		list[i] = ColumnInfo{columns[i].Name, columns[i].Unit, columns[i].Meaning}
	}
	return list
}

func sha(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

const checksumKey = "\n  \"checksum\": "

// encode returns the bytes of manifest.json.
func (m *Manifest) encode() []byte {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(m); err != nil {
		panic("results: a manifest that JSON cannot hold: " + err.Error())
	}
	body := bytes.TrimSuffix(b.Bytes(), []byte("\n}\n"))
	body = append(bytes.Clone(body), ",\n"...)
	return append(body, fmt.Sprintf("  \"checksum\": %q\n}\n", sha(body))...)
}

// decodeManifest reads manifest.json and checks its checksum.
func decodeManifest(data []byte) (*Manifest, error) {
	var head struct{ Format int }
	if err := json.Unmarshal(data, &head); err != nil {
		return nil, fmt.Errorf("no JSON: %w", err)
	}
	if head.Format < 1 || head.Format > Format {
		return nil, fmt.Errorf("format %d, and this version reads formats 1 to %d", head.Format, Format)
	}
	at := bytes.LastIndex(data, []byte(checksumKey))
	if at < 0 {
		return nil, errors.New("the checksum is missing")
	}
	if want := fmt.Sprintf("%q\n}\n", sha(data[:at+1])); string(data[at+len(checksumKey):]) != want {
		return nil, errors.New("the checksum does not fit")
	}
	m := new(Manifest)
	if err := json.Unmarshal(data, m); err != nil {
		return nil, err
	}
	m.rename()
	return m, m.check()
}

// rename gives columns of an earlier format the names they have now.
func (m *Manifest) rename() {
	for i := range m.Columns {
		m.Columns[i].Name = currentName(m.Format, m.Columns[i].Name)
	}
	for i := range m.Goals {
		m.Goals[i].Column = currentName(m.Format, m.Goals[i].Column)
	}
}

// check refuses what this package would not have written.
func (m *Manifest) check() error {
	switch m.EndedBy {
	case "", ByPlan, ByMaxDesigns, ByTime, ByStagnation, ByNoPointLeft, BySignal, ByCannotWrite:
		if m.State != m.EndedBy.state() {
			return fmt.Errorf("state %q does not go with ended_by %q", m.State, m.EndedBy)
		}
	default:
		return fmt.Errorf("ended_by %q is unknown", m.EndedBy)
	}
	if m.Rows < 0 || m.Feasible < 0 || m.Feasible > m.Rows {
		return fmt.Errorf("%d feasible rows of %d", m.Feasible, m.Rows)
	}
	if n := len(m.Plans); m.Format >= 2 && (n == 0) != (len(m.Runs) > 0) || n > 0 && m.Plans[n-1].Brief != m.Brief {
		return errors.New("its plans do not go with its brief")
	}
	for i := 1; i < len(m.Plans); i++ {
		if m.Plans[i].Length <= m.Plans[i-1].Length {
			return errors.New("a plan that is no longer than the one before")
		}
	}
	for _, l := range m.Layouts {
		if !isLayoutName(l.Name) {
			return fmt.Errorf("a layout called %q", l.Name)
		}
	}
	names := map[string]bool{}
	for _, c := range m.Columns {
		if names[c.Name] || c.Name == "" {
			return fmt.Errorf("column %q twice", c.Name)
		}
		names[c.Name] = true
	}
	for _, g := range m.Goals {
		if !names[g.Column] || g.Sense != "most" && g.Sense != "least" {
			return fmt.Errorf("goal %q: %q", g.Column, g.Sense)
		}
	}
	return nil
}

// readManifest reads the manifest of a folder. A folder without one is a
// FolderError, or damaged where other files of a run are there.
func readManifest(d disk, dir string) (*Manifest, error) {
	path := filepath.Join(dir, manifestName)
	data, err := readBytes(d, path)
	if errors.Is(err, fs.ErrNotExist) {
		entries, err := d.ReadDir(dir)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return nil, &FolderError{dir, "there is no such folder"}
		case errors.Is(err, syscall.ENOTDIR):
			return nil, &FolderError{dir, "it is no folder"}
		case err != nil:
			return nil, unread(dir, err)
		}
		for _, e := range entries {
			if e.Name() == candidatesName || e.Name() == frontName {
				return nil, damaged(path, "missing, beside %s", e.Name())
			}
		}
		if parts, _ := d.ReadDir(filepath.Join(dir, partsName)); len(parts) > 0 {
			return nil, damaged(path, "missing, beside %d parts", len(parts))
		}
		return nil, &FolderError{dir, "not a run folder: it has no " + manifestName}
	}
	if errors.Is(err, syscall.ENOTDIR) {
		return nil, &FolderError{dir, "it is no folder"}
	}
	if err != nil {
		return nil, unread(path, err)
	}
	m, err := decodeManifest(data)
	if err != nil {
		return nil, damaged(path, "%w", err)
	}
	return m, nil
}

// isLayoutName reports whether a layout may be called so: its name becomes that of a file.
func isLayoutName(name string) bool {
	return name != "" && len(name) <= 100 && strings.Trim(name, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-") == ""
}

// mismatch compares the identity of a folder with the one asked for.
func (id *Identity) mismatch(dir string, want *Identity) error {
	for _, c := range []struct{ what, have, want string }{
		{"version", id.Version, want.Version},
		{"platform", id.Platform, want.Platform},
		{"seed", strconv.FormatUint(id.Seed, 10), strconv.FormatUint(want.Seed, 10)},
		{"shard", orWhole(id.Shard), orWhole(want.Shard)},
		{WhatBrief, "another (resolved, SHA-256 " + short(id.Resolved) + "…)", "this one (" + short(want.Resolved) + "…)"},
	} {
		if c.have != c.want && (c.what != WhatBrief || id.Resolved != want.Resolved) {
			return &MismatchError{dir, c.what, c.have, c.want}
		}
	}
	return nil
}

func orWhole(s Shard) string {
	if s == "" {
		return "the whole run"
	}
	return string(s)
}

func short(sum string) string { return sum[:min(len(sum), 12)] }
