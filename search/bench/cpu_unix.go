//go:build unix

package bench

import (
	"syscall"
	"time"
)

// cpuTime is the processor time this process has used, all threads.
func cpuTime() time.Duration {
	var r syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &r); err != nil {
		return 0
	}
	return time.Duration(r.Utime.Nano() + r.Stime.Nano())
}
