package results

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"flexwright/search"
)

// Exchange carries members between the islands of an evolution, each a run of its
// own, through a folder that all of them reach: a file an island and generation,
// written once and put in place by renaming. What an island received, or that it
// went on alone, is also stored in its own folder (exchange/), so that a run that
// goes on, or is replayed, needs no other folder and repeats what it did.
type Exchange struct {
	recorder *Recorder // nil: nothing is written
	folder   *Folder
	dir      string // shared; empty: none
	island   int
	patience time.Duration
	note     func(string)
	late     map[int]bool // islands that were waited for in vain: no second time
}

// exchangeName is the folder for what an island received.
const exchangeName = "exchange"

// Exchange joins the run, an island, to the others in a shared folder. An island
// that has nothing for it is waited for once, for patience at most; note is told
// when a wait begins and when it was in vain. Without a folder the island goes on
// alone. The run's [Recorder], made afterwards, stores its rows before a wait.
func (r *Run) Exchange(dir string, patience time.Duration, note func(string)) (*Exchange, error) {
	island, _, ok := r.manifest.Shard.numbers()
	if !ok {
		panic("results: only an island exchanges")
	}
	x := &Exchange{folder: &r.Folder, island: island, patience: patience, note: note, late: map[int]bool{}}
	r.exchange = x
	if dir == "" {
		return x, nil
	}
	x.dir = filepath.Join(dir, r.manifest.archipelago())
	if err := r.disk.Mkdir(x.dir); err != nil {
		return nil, &WriteError{x.dir, "create", err}
	}
	return x, nil
}

// Received answers what the run of the folder received, and writes nothing.
func (f *Folder) Received() *Exchange { return &Exchange{folder: f} }

// numbers of a shard I/N.
func (s Shard) numbers() (i, n int, ok bool) {
	a, b, found := strings.Cut(string(s), "/")
	i, err1 := strconv.Atoi(a)
	n, err2 := strconv.Atoi(b)
	return i, n, found && err1 == nil && err2 == nil
}

// archipelago names what the islands of one search have in common.
func (m *Manifest) archipelago() string {
	id := m.Identity
	_, n, _ := id.Shard.numbers()
	id.Shard = Shard(fmt.Sprintf("of %d", n))
	return id.Run()[:16]
}

// letter is what a file holds: JSON, and in a second line its SHA-256.
type letter struct {
	Island     int      `json:"island"` // that sent it
	Generation int      `json:"generation"`
	Alone      bool     `json:"alone,omitempty"` // nothing came
	Members    []member `json:"members"`
}

type member struct {
	Point      []number `json:"point"`
	Objectives []number `json:"objectives"`
	Stage      int      `json:"stage"`
	Violation  number   `json:"violation"`
	Limits     []number `json:"limits"`
}

// number is a float64 whose JSON reads back bit for bit: null is not a number, and
// the infinities are texts.
type number float64

func (x number) MarshalJSON() ([]byte, error) {
	switch v := float64(x); {
	case math.IsNaN(v):
		return []byte("null"), nil
	case math.IsInf(v, 0):
		return fmt.Appendf(nil, "%q", strconv.FormatFloat(v, 'g', -1, 64)), nil
	default:
		return strconv.AppendFloat(nil, v, 'g', -1, 64), nil
	}
}

func (x *number) UnmarshalJSON(text []byte) error {
	if string(text) == "null" {
		*x = number(math.NaN())
		return nil
	}
	v, err := strconv.ParseFloat(strings.Trim(string(text), `"`), 64)
	*x = number(v)
	return err
}

func numbers(x []float64) []number {
	list := make([]number, len(x))
	for i, v := range x {
		list[i] = number(v)
	}
	return list
}

func floats(x []number) []float64 {
	list := make([]float64, len(x))
	for i, v := range x {
		list[i] = float64(v)
	}
	return list
}

func (l *letter) encode() []byte {
	text, err := json.Marshal(l)
	if err != nil {
		panic("results: a letter that JSON cannot hold: " + err.Error())
	}
	sum := sha256.Sum256(text)
	return fmt.Appendf(nil, "%s\n%s\n", text, hex.EncodeToString(sum[:]))
}

// readLetter reads and checks a file; fs.ErrNotExist is passed on.
func readLetter(d disk, path string, generation int) (*letter, error) {
	data, err := readBytes(d, path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, err
	} else if err != nil {
		return nil, unread(path, err)
	}
	text, rest, _ := bytes.Cut(data, []byte("\n"))
	sum := sha256.Sum256(text)
	l := &letter{}
	switch {
	case string(rest) != hex.EncodeToString(sum[:])+"\n":
		return nil, damaged(path, "the checksum does not fit")
	case json.Unmarshal(text, l) != nil || l.Generation != generation:
		return nil, damaged(path, "it is no exchange of generation %d", generation)
	}
	return l, nil
}

func (l *letter) migrants() []search.Migrant {
	var list []search.Migrant
	for _, m := range l.Members {
		list = append(list, search.Migrant{Point: floats(m.Point), Outcome: search.Outcome{
			Objectives: floats(m.Objectives), Stage: m.Stage, Violation: float64(m.Violation), Limits: floats(m.Limits)}})
	}
	return list
}

func (f *Folder) letterPath(generation int) string {
	return filepath.Join(f.dir, exchangeName, strconv.Itoa(generation)+".json")
}

func (x *Exchange) sharedPath(island, generation int) string {
	return filepath.Join(x.dir, fmt.Sprintf("%d-%d.json", island, generation))
}

// Publish implements search.Exchange.
func (x *Exchange) Publish(_ context.Context, generation int, members []search.Migrant) error {
	if x.dir == "" {
		return nil
	}
	l := letter{Island: x.island, Generation: generation}
	for _, m := range members {
		o := m.Outcome
		l.Members = append(l.Members, member{numbers(m.Point), numbers(o.Objectives), o.Stage, number(o.Violation), numbers(o.Limits)})
	}
	path, data := x.sharedPath(x.island, generation), l.encode()
	if have, err := readBytes(x.folder.disk, path); err == nil && bytes.Equal(have, data) {
		return nil // a run that goes on
	}
	return writeBytes(x.folder.disk, path, data)
}

// Await implements search.Exchange.
func (x *Exchange) Await(ctx context.Context, generation, island int) ([]search.Migrant, error) {
	l, err := readLetter(x.folder.disk, x.folder.letterPath(generation), generation)
	if err == nil && l.Island != island {
		return nil, damaged(x.folder.letterPath(generation), "it is of island %d, not of %d", l.Island, island)
	}
	if !errors.Is(err, fs.ErrNotExist) {
		if err != nil {
			return nil, err
		}
		x.tell(l)
		return l.migrants(), nil
	}
	switch {
	case x.recorder == nil:
		return nil, nil // behind the last stored row
	case x.dir == "":
		l = &letter{Island: island, Generation: generation, Alone: true}
	default:
		if l, err = x.receive(ctx, generation, island); err != nil {
			return nil, err
		}
	}
	if err := x.store(l); err != nil {
		return nil, err
	}
	x.tell(l)
	return l.migrants(), nil
}

// tell puts into the manifest, when that is next written, that the island was alone.
func (x *Exchange) tell(l *letter) {
	if x.recorder == nil || !l.Alone || slices.Contains(x.recorder.run.manifest.Alone, l.Generation) {
		return
	}
	m := *x.recorder.run.manifest
	m.Alone = append(slices.Clone(m.Alone), l.Generation)
	x.recorder.run.manifest = &m
}

// How often another island's file is looked for.
const (
	firstLook = 10 * time.Millisecond
	lastLook  = 2 * time.Second
)

// receive waits for another island's letter.
func (x *Exchange) receive(ctx context.Context, generation, island int) (*letter, error) {
	alone := &letter{Island: island, Generation: generation, Alone: true}
	began, told := x.recorder.now(), false
	for pause := firstLook; ; pause = min(2*pause, lastLook) {
		// In this order: an island says that it has ended behind its last letter.
		ended := x.ended(island)
		l, err := readLetter(x.folder.disk, x.sharedPath(island, generation), generation)
		waited := x.recorder.now().Sub(began)
		switch {
		case err == nil:
			delete(x.late, island)
			return l, nil
		case !errors.Is(err, fs.ErrNotExist):
			return nil, err
		case ended || x.late[island]:
			return alone, nil
		case waited >= x.patience:
			x.late[island] = true
			x.note(fmt.Sprintf("island %d did not come to generation %d within %s: island %d goes on alone", island, generation, x.patience, x.island))
			return alone, nil
		}
		if err := x.recorder.mayGoOn(ctx); err != nil {
			return nil, err
		}
		if waited > time.Second && !told {
			told = true
			x.note(fmt.Sprintf("island %d waits for island %d at generation %d, for %s at most", x.island, island, generation, x.patience))
			if err := x.recorder.store(); err != nil {
				return nil, err
			}
		}
		select {
		case <-ctx.Done():
		case <-time.After(pause):
		}
	}
}

// store keeps what was received, or that nothing was, in the run's own folder.
func (x *Exchange) store(l *letter) error {
	c := x.recorder
	if err := c.wait(); err != nil { // one at a time writes to the folder
		return err
	}
	if err := c.run.begin(); err != nil {
		return err
	}
	path := x.folder.letterPath(l.Generation)
	if err := x.folder.disk.Mkdir(filepath.Dir(path)); err != nil {
		return &WriteError{filepath.Dir(path), "create", err}
	}
	return writeBytes(x.folder.disk, path, l.encode())
}

func (x *Exchange) endedPath(island int) string {
	return filepath.Join(x.dir, fmt.Sprintf("%d-ended", island))
}

func (x *Exchange) ended(island int) bool {
	_, err := readBytes(x.folder.disk, x.endedPath(island))
	return err == nil
}

// Ended tells the others that this island has come to an end before its plan: nobody
// is to wait for it.
func (x *Exchange) Ended() error {
	if x.dir == "" || x.ended(x.island) {
		return nil
	}
	return writeBytes(x.folder.disk, x.endedPath(x.island), []byte("ended\n"))
}
