package results

import (
	"bytes"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"syscall"
	"time"

	"github.com/gofrs/flock"
)

// beatTime is how often the holder of a lock shows that it lives; watchTime is
// how long a beat must stand still before its holder counts as gone.
const (
	beatTime   = 2 * time.Second
	watchTime  = 7 * time.Second
	recordSize = 512
)

// record is what the holder writes into the lock file, for people and for the
// case that the file system's lock does not reach to other hosts.
type record struct {
	Host     string `json:"host"`
	PID      int    `json:"pid"`
	Token    string `json:"token"`
	Beat     int64  `json:"beat"`
	Since    string `json:"since"`
	Time     string `json:"time"`
	Released bool   `json:"released"`
}

// lock keeps a folder for one process. The operating system's lock (flock)
// decides, and a dead process cannot hold it. Where it cannot decide, because
// the file system has none or because the last holder was on another host that
// this one may not see, the holder's record is watched.
type lock struct {
	dir   string
	disk  disk
	flock *flock.Flock
	watch time.Duration

	unsure bool   // the file system has no locks
	denied error  // why nothing can be written here; a run with nothing to do does not mind
	seen   record // when the lock was taken

	mu      sync.Mutex
	own     record
	claimed bool
	err     error // why the lock is not ours any more
	stop    chan struct{}
	done    chan struct{}
}

// takeLock takes the lock of a folder or returns an InUseError. It writes
// nothing, but for the file itself where there is none. Where nothing may be written, the error
// waits for claim. Note is told what a user should know.
func takeLock(d disk, dir string, watch time.Duration, note func(string)) (*lock, error) {
	path := filepath.Join(dir, lockName)
	info, err := os.Lstat(path)
	if err := regular(info, err, path); errors.Is(err, errNoFile) {
		return nil, &FolderError{path, bare(err).Error()}
	}
	l := &lock{dir: dir, disk: d, watch: watch, flock: flock.New(path, flock.SetFlag(os.O_CREATE|os.O_RDWR), flock.SetPermissions(0o666))}
	ok, err := l.flock.TryLock()
	switch {
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		l.denied = &WriteError{path, "lock", err}
		return l, nil
	case errors.Is(err, fs.ErrNotExist), errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT):
		return nil, &WriteError{path, "lock", err}
	case err != nil:
		l.unsure = true
	case !ok:
		r, _ := l.read()
		return nil, l.inUse(r)
	}
	l.seen, _ = l.read()
	if l.seen.Token != "" && !l.seen.Released && (l.unsure || l.seen.Host != hostName()) {
		note(fmt.Sprintf("waiting %v for the lock of process %d on %s, which was not given back: whether that process still writes shows by then", watch, l.seen.PID, l.seen.Host))
		time.Sleep(watch)
		if r, _ := l.read(); r.Token != l.seen.Token || r.Beat != l.seen.Beat {
			l.flock.Unlock()
			return nil, l.inUse(r)
		}
	}
	if l.unsure {
		note(fmt.Sprintf("this file system has no locks (%v): whether another process writes to %s cannot be told for certain", bare(err), dir))
	}
	return l, nil
}

func hostName() string {
	name, _ := os.Hostname()
	return name
}

func (l *lock) path() string { return filepath.Join(l.dir, lockName) }

func (l *lock) inUse(r record) error {
	e := &InUseError{Dir: l.dir}
	if r.Token != "" && !r.Released {
		e.Host, e.PID, e.Since = r.Host, r.PID, r.Since
	}
	return e
}

// read returns the record; an empty or unreadable one is no record.
func (l *lock) read() (record, error) {
	var r record
	data, err := readBytes(l.disk, l.path())
	if err == nil && len(bytes.TrimSpace(data)) > 0 && json.Unmarshal(data, &r) != nil {
		r = record{}
	}
	return r, err
}

func (l *lock) write() error {
	l.own.Time = time.Now().UTC().Format(time.RFC3339)
	data, err := json.Marshal(l.own)
	if err != nil {
		panic("results: a lock record that JSON cannot hold")
	}
	data = append(append(data, bytes.Repeat([]byte(" "), max(0, recordSize-1-len(data)))...), '\n')
	f, err := l.disk.OpenWrite(l.path())
	if err == nil {
		_, err = f.WriteAt(data, 0)
		if e := f.Close(); err == nil {
			err = e
		}
	}
	if err != nil {
		return &WriteError{l.path(), "write", err}
	}
	return nil
}

// claim writes the record, before anything else is written, and keeps it alive.
func (l *lock) claim() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.claimed {
		return l.err
	}
	if l.denied != nil {
		return l.denied
	}
	if r, err := l.read(); err != nil {
		return &WriteError{l.path(), "read", err}
	} else if r.Token != l.seen.Token || r.Beat != l.seen.Beat {
		return l.inUse(r)
	}
	l.own = record{Host: hostName(), PID: os.Getpid(), Token: rand.Text(), Since: time.Now().UTC().Format(time.RFC3339)}
	if err := l.write(); err != nil {
		return err
	}
	if l.unsure { // two that claim at once: the later record stands
		time.Sleep(l.watch)
		if r, _ := l.read(); r.Token != l.own.Token {
			return l.inUse(r)
		}
	}
	l.claimed = true
	l.stop, l.done = make(chan struct{}), make(chan struct{})
	go l.beat()
	return nil
}

func (l *lock) beat() {
	defer close(l.done)
	ticker := time.NewTicker(beatTime)
	defer ticker.Stop()
	for {
		select {
		case <-l.stop:
			return
		case <-ticker.C:
		}
		l.mu.Lock()
		if l.err == nil {
			if l.err = l.stillOurs(); l.err == nil {
				l.own.Beat++
				l.err = l.write()
			}
		}
		l.mu.Unlock()
	}
}

// stillOurs returns an error when the folder has gone or another process has taken it.
func (l *lock) stillOurs() error {
	r, err := l.read()
	if err != nil {
		return &WriteError{l.path(), "read", err}
	}
	if r.Token != l.own.Token {
		return l.inUse(r)
	}
	return nil
}

// check is stillOurs before something is written.
func (l *lock) check() error {
	if err := l.claim(); err != nil {
		return err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.stillOurs()
}

// release gives the folder back.
func (l *lock) release() {
	if l.claimed {
		close(l.stop)
		<-l.done
		if l.stillOurs() == nil {
			l.own.Released = true
			l.write() // without it, another host watches for a while
		}
	}
	l.flock.Unlock()
}
