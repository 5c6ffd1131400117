//go:build unix

package main

import (
	"os"
	"os/signal"
	"syscall"
)

// notifyState makes c tell when the state of a run is asked for: SIGUSR1.
func notifyState(c chan<- os.Signal) { signal.Notify(c, syscall.SIGUSR1) }
