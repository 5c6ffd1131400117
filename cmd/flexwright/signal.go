package main

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"syscall"
	"time"
)

// stopOnSignal returns a context that the first SIGINT, SIGTERM or SIGHUP cancels; the
// second, not sooner than a second later if it is SIGTERM, ends the program at once. A SIGHUP that was ignored from the start (nohup) stays
// ignored. The function tells the exit status of the first.
func stopOnSignal(ctx context.Context, s streams) (context.Context, func() int) {
	ctx, cancel := context.WithCancel(ctx)
	signals := make(chan os.Signal, 2)
	got := make(chan int, 1)
	stopping := []os.Signal{os.Interrupt, syscall.SIGTERM}
	if !signal.Ignored(syscall.SIGHUP) {
		stopping = append(stopping, syscall.SIGHUP)
	}
	signal.Notify(signals, stopping...)
	go func() {
		code := exitTerm
		if <-signals == os.Interrupt {
			code = exitInt
		}
		got <- code
		fmt.Fprintln(s.err, "stopping: storing what is being evaluated (again: stop at once)")
		cancel()
		// A batch system signals every process of a job, and the job's script hands it on:
		// the same signal soon after is the same wish.
		for at := time.Now(); <-signals == syscall.SIGTERM && time.Since(at) < time.Second; {
		}
		os.Exit(code)
	}()
	return ctx, func() int { return <-got }
}
