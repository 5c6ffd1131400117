package results

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"flexwright/search"
)

// ExchangeOptions say where islands leave members for one another.
type ExchangeOptions struct {
	// Dir is a folder that all islands reach. Empty: this island goes on alone, and says so.
	Dir string
	// Patience is how long an island waits for another's file. An island that has not come by then is
	// waited for no more.
	Patience time.Duration
	Note     func(string) // is told what the user should know; nil: nobody
}

// exchange carries members between islands as files, written once and renamed:
// DIR/RUN/GENERATION/ISLAND.json, RUN being of the identity without the island's own number.
// What an island takes in it keeps in its own folder, received/GENERATION.json, before it goes on: when the run is
// taken up or replayed it takes in the same, and needs no other folder.
type exchange struct {
	c      *Recorder
	o      ExchangeOptions
	shared string // Dir/RUN; empty: none
	island int
	late   map[int]bool // islands that are waited for no more
	sleep  func(time.Duration)
}

// Exchange returns what an island's plan exchanges members by. Of a Recorder that only compares it
// takes in what was taken in, and gives nothing.
func (c *Recorder) Exchange(o ExchangeOptions) search.Exchange {
	if o.Note == nil {
		o.Note = func(string) {}
	}
	m := c.folder.manifest
	island, _, _ := strings.Cut(string(m.Shard), "/")
	x := &exchange{c: c, o: o, late: map[int]bool{}, sleep: time.Sleep}
	x.island, _ = strconv.Atoi(island)
	if o.Dir != "" {
		x.shared = filepath.Join(o.Dir, x.run()[:16])
	}
	for _, l := range m.Alone {
		x.late[l.Island] = true
	}
	c.exchange = x
	return x
}

func (x *exchange) endedPath(island int) string {
	return filepath.Join(x.shared, "ended", strconv.Itoa(island))
}

// ended tells the others that this island came to an end before its plan: nobody is
// to wait for it.
func (x *exchange) ended() error {
	if x.shared == "" {
		return nil
	}
	path := x.endedPath(x.island)
	if err := x.c.folder.disk.Mkdir(filepath.Dir(path)); err != nil {
		return &WriteError{path, "create the folder of", err}
	}
	return writeBytes(x.c.folder.disk, path, []byte("ended\n"))
}

// letter is a file of members.
type letter struct {
	Format     int    `json:"format"`
	Run        string `json:"run_sha256"` // of all islands
	Generation int    `json:"generation"`
	Island     int    `json:"island"` // that it is from
	Alone      bool   `json:"alone"`  // it did not come: the island went on alone
	Members    []byte `json:"members"`
	Sum        string `json:"sha256"` // of the members as numbers
}

// run is what the islands of one search have in common.
func (x *exchange) run() string {
	id := x.c.folder.manifest.Identity
	_, n, _ := strings.Cut(string(id.Shard), "/")
	id.Shard = Shard("of " + n)
	return id.Run()
}

func (x *exchange) encode(generation, island int, alone bool, members []search.Migrant) []byte {
	numbers := appendMembers(nil, members)
	data, err := json.Marshal(letter{Format, x.run(), generation, island, alone, numbers, sha(numbers)})
	if err != nil {
		panic("results: a letter that JSON cannot hold")
	}
	return append(data, '\n')
}

func (x *exchange) decode(path string, data []byte, generation int) (*letter, []search.Migrant, error) {
	l := new(letter)
	if err := json.Unmarshal(data, l); err != nil {
		return nil, nil, damaged(path, "%w", err)
	}
	if l.Format != Format || l.Run != x.run() || l.Generation != generation {
		return nil, nil, damaged(path, "it is of another run, generation or format")
	}
	if l.Sum != sha(l.Members) {
		return nil, nil, damaged(path, "the checksum does not fit")
	}
	members, err := readMembers(l.Members)
	if err != nil {
		return nil, nil, damaged(path, "%w", err)
	}
	return l, members, nil
}

// appendMembers writes members as doubles, each list behind its length (-1: none), so that NaN and
// infinity read back too.
func appendMembers(b []byte, members []search.Migrant) []byte {
	number := func(v float64) { b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v)) }
	list := func(v []float64) {
		if v == nil {
			number(-1)
			return
		}
		number(float64(len(v)))
		for _, f := range v {
			number(f)
		}
	}
	for i := range members {
		m := &members[i]
		list(m.Point)
		list(m.Outcome.Objectives)
		number(float64(m.Outcome.Stage))
		number(m.Outcome.Violation)
		list(m.Outcome.Limits)
	}
	return b
}

func readMembers(b []byte) (members []search.Migrant, err error) {
	short := errors.New("members with numbers missing")
	number := func() float64 {
		if len(b) < 8 {
			err = short
			return -1
		}
		v := math.Float64frombits(binary.LittleEndian.Uint64(b))
		b = b[8:]
		return v
	}
	list := func() []float64 {
		n := number()
		if n == -1 || err != nil {
			return nil
		}
		if !(n >= 0 && n <= float64(len(b)/8)) || n != math.Trunc(n) {
			err = short
			return nil
		}
		v := make([]float64, int(n))
		for i := range v {
			v[i] = number()
		}
		return v
	}
	for len(b) > 0 && err == nil {
		var m search.Migrant
		m.Point = list()
		m.Outcome.Objectives = list()
		m.Outcome.Stage = int(number())
		m.Outcome.Violation = number()
		m.Outcome.Limits = list()
		members = append(members, m)
	}
	if err != nil {
		return nil, err
	}
	return members, nil
}

func (x *exchange) sharedPath(generation, island int) string {
	return filepath.Join(x.shared, strconv.Itoa(generation), strconv.Itoa(island)+".json")
}

// Publish implements search.Exchange.
func (x *exchange) Publish(ctx context.Context, generation int, members []search.Migrant) error {
	if x.c.run == nil || x.shared == "" {
		return nil
	}
	path := x.sharedPath(generation, x.island)
	want := x.encode(generation, x.island, false, members)
	if have, err := readBytes(x.c.folder.disk, path); err == nil && bytes.Equal(have, want) {
		return nil // of an earlier sitting
	}
	if err := x.c.folder.disk.Mkdir(filepath.Dir(path)); err != nil {
		return &WriteError{path, "create the folder of", err}
	}
	return writeBytes(x.c.folder.disk, path, want)
}

// Await implements search.Exchange.
func (x *exchange) Await(ctx context.Context, generation, island int) ([]search.Migrant, error) {
	own := x.c.folder.receivedPath(generation)
	data, err := readBytes(x.c.folder.disk, own)
	switch {
	case err == nil:
		l, members, err := x.decode(own, data, generation)
		if err == nil && l.Island != island {
			err = damaged(own, "it is of island %d, not of %d", l.Island, island)
		}
		return members, err
	case !errors.Is(err, fs.ErrNotExist):
		return nil, unread(own, err)
	case x.c.run == nil: // the run came no further
		return nil, &StopError{}
	}
	members, came, err := x.await(ctx, generation, island)
	if err != nil {
		return nil, err
	}
	if !came && !x.late[island] {
		x.late[island] = true
		x.o.Note(fmt.Sprintf("generation %d: island %d has not come: on without it", generation, island))
	}
	if err := x.c.run.receive(generation, island, came, x.encode(generation, island, !came, members)); err != nil {
		return nil, err
	}
	return members, nil
}

// await waits for a file, and reports whether it came.
func (x *exchange) await(ctx context.Context, generation, island int) ([]search.Migrant, bool, error) {
	if err := x.c.flush(); err != nil {
		return nil, false, err
	}
	if x.shared == "" {
		return nil, false, nil
	}
	path, began, pause, said := x.sharedPath(generation, island), x.c.now(), 20*time.Millisecond, false
	for {
		// In this order: an island says that it has ended behind its last letter.
		_, ended := readBytes(x.c.folder.disk, x.endedPath(island))
		data, err := readBytes(x.c.folder.disk, path)
		if err == nil {
			l, members, err := x.decode(path, data, generation)
			if err == nil && l.Island != island {
				err = damaged(path, "it is of island %d", l.Island)
			}
			return members, err == nil, err
		} else if !errors.Is(err, fs.ErrNotExist) {
			return nil, false, unread(path, err)
		}
		waited := x.c.now().Sub(began)
		if waited >= x.o.Patience || x.late[island] || ended == nil {
			return nil, false, nil
		}
		if err := x.c.mayGoOn(ctx); err != nil {
			x.c.err = err
			return nil, false, err
		}
		if waited > 10*time.Second && !said {
			said = true
			x.o.Note(fmt.Sprintf("generation %d: waiting for island %d, up to %v in all", generation, island, x.o.Patience))
		}
		x.sleep(pause)
		pause = min(2*pause, 2*time.Second)
	}
}

// flush stores the rows that are not stored yet.
func (c *Recorder) flush() error {
	if err := c.store(); err != nil {
		return err
	}
	return c.wait()
}

func (f *Folder) receivedPath(generation int) string {
	return filepath.Join(f.dir, receivedName, strconv.Itoa(generation)+".json")
}

// Lonely is an exchange at which an island took nothing in.
type Lonely struct {
	Generation int `json:"generation"`
	Island     int `json:"island"` // that was waited for
}

// receive keeps what an island takes in, before it goes on with it.
func (r *Run) receive(generation, island int, came bool, data []byte) error {
	if err := r.open(); err != nil {
		return err
	}
	path := r.receivedPath(generation)
	if err := r.disk.Mkdir(filepath.Dir(path)); err != nil {
		return &WriteError{path, "create the folder of", err}
	}
	if err := writeBytes(r.disk, path, data); err != nil {
		return err
	}
	if !came {
		m := *r.manifest
		m.Alone = append(m.Alone[:len(m.Alone):len(m.Alone)], Lonely{generation, island})
		r.manifest = &m
		return r.writeManifest("")
	}
	return nil
}
