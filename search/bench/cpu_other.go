//go:build !unix && !windows

package bench

import "time"

// cpuTime is not known here.
func cpuTime() time.Duration { return 0 }
