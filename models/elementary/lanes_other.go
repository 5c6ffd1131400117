//go:build !amd64

package elementary

// Lanes is how many numbers this processor's vector registers work on side by side: kernels are written for amd64 only.
func Lanes() int { return 1 }
