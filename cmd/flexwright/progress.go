package main

import (
	"fmt"
	"io"
	"os"
	"sync/atomic"
	"time"

	"flexwright/objective"

	"golang.org/x/term"
)

// progress prints how far a run is, on a terminal only.
type progress struct {
	rows, feasible atomic.Int64
	total          int64
	done           chan struct{}
	ended          chan struct{}
}

func newProgress(w io.Writer, _ *objective.Spec, planned, bound int64) *progress {
	p := &progress{total: planned, done: make(chan struct{}), ended: make(chan struct{})}
	if bound > 0 && bound < planned {
		p.total = bound
	}
	f, ok := w.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		close(p.ended)
		return p
	}
	go func() {
		defer close(p.ended)
		began := time.Now()
		tick := time.NewTicker(200 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-tick.C:
				n := p.rows.Load()
				rate := float64(n) / time.Since(began).Seconds()
				fmt.Fprintf(w, "\r\033[K%d of %d designs, %d feasible, %.0f/s", n, p.total, p.feasible.Load(), rate)
			case <-p.done:
				fmt.Fprint(w, "\r\033[K")
				return
			}
		}
	}()
	return p
}

func (p *progress) observe(rows []objective.Row, _ bool) {
	p.rows.Add(int64(len(rows)))
	for i := range rows {
		if rows[i].Feasible {
			p.feasible.Add(1)
		}
	}
}

func (p *progress) close() {
	close(p.done)
	<-p.ended
}
