package search

import (
	"context"
	"strings"
	"sync/atomic"
	"testing"
)

func TestPoolRunsEachTaskOnce(t *testing.T) {
	for _, workers := range []int{1, 3, 100} {
		p := NewPool(workers)
		count := make([]atomic.Int32, 1000)
		done, panics := p.Do(context.Background(), len(count), func(w, i int) {
			if w < 0 || w >= p.Workers() {
				t.Errorf("worker %d of %d", w, p.Workers())
			}
			count[i].Add(1)
		})
		if done != len(count) || panics != nil {
			t.Fatal(done, panics)
		}
		for i := range count {
			if count[i].Load() != 1 {
				t.Errorf("task %d ran %d times", i, count[i].Load())
			}
		}
	}
	if done, _ := NewPool(0).Do(context.Background(), 0, nil); done != 0 {
		t.Error(done)
	}
}

func TestPoolHandsPanicsBack(t *testing.T) {
	ran := make([]bool, 50)
	done, panics := NewPool(4).Do(context.Background(), len(ran), func(_, i int) {
		ran[i] = true
		if i%20 == 3 {
			panic(i)
		}
	})
	if done != len(ran) || len(panics) != 3 {
		t.Fatal(done, panics)
	}
	for k, e := range panics {
		if e.Index != 3+20*k || e.Value != e.Index || !strings.Contains(string(e.Stack), "TestPoolHandsPanicsBack") {
			t.Error(e)
		}
	}
	for i := range ran {
		if !ran[i] {
			t.Errorf("task %d did not run", i)
		}
	}
}

// What has run when the context ends is a prefix.
func TestPoolStopsAtAPrefix(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	ran := make([]atomic.Bool, 10000)
	done, _ := NewPool(4).Do(ctx, len(ran), func(_, i int) {
		if i == 100 {
			cancel()
		}
		ran[i].Store(true)
	})
	if done <= 100 || done == len(ran) {
		t.Fatalf("%d tasks", done)
	}
	for i := range ran {
		if ran[i].Load() != (i < done) {
			t.Fatalf("task %d of %d done", i, done)
		}
	}
}
