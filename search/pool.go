package search

import (
	"context"
	"fmt"
	"runtime/debug"
	"slices"
	"sync"
	"sync/atomic"
)

// Pool runs tasks on a fixed number of workers. Each worker is one goroutine
// with a number, so that a task can use the worker's own scratch memory.
type Pool struct {
	workers int
}

// NewPool returns a pool of at least one worker.
func NewPool(workers int) *Pool { return &Pool{max(workers, 1)} }

// Workers returns the number of workers.
func (p *Pool) Workers() int { return p.workers }

// Panic is a task that panicked: a fault in the task, kept from ending the
// process. Evolve returns one as an error when its Batch panics.
type Panic struct {
	Index int // of the task; -1 in Evolve
	Value any
	Stack []byte
}

// Error returns the value and the stack.
func (p *Panic) Error() string { return fmt.Sprintf("panic: %v\n%s", p.Value, p.Stack) }

// Do runs task(worker, i) for i from 0 to n-1, each once, worker from 0 to
// Workers-1, and waits. What a task computes must depend on i alone and go to
// place i, so that nothing depends on timing.
//
// When ctx ends, running tasks are finished and no further one begins: tasks 0
// to done-1 have run and the others have not. Panics come back in the order of
// their index.
func (p *Pool) Do(ctx context.Context, n int, task func(worker, i int)) (done int, panics []Panic) {
	var (
		next atomic.Int64
		mu   sync.Mutex
		wg   sync.WaitGroup
	)
	one := func(worker, i int) {
		defer func() {
			if v := recover(); v != nil {
				e := Panic{Index: i, Value: v, Stack: debug.Stack()}
				mu.Lock()
				panics = append(panics, e)
				mu.Unlock()
			}
		}()
		task(worker, i)
	}
	for w := range min(p.workers, n) {
		wg.Go(func() {
			for ctx.Err() == nil {
				i := int(next.Add(1)) - 1
				if i >= n {
					return
				}
				one(w, i)
			}
		})
	}
	wg.Wait()
	slices.SortFunc(panics, func(a, b Panic) int { return a.Index - b.Index })
	return min(int(next.Load()), n), panics
}
