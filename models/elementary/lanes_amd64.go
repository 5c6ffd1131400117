package elementary

import "golang.org/x/sys/cpu"

// Lanes is how many numbers this processor's vector registers work on side by side: 8 with AVX-512 (F, DQ, VL), 4 with AVX2 alone, else 1.
// What comes out must not depend on it.
func Lanes() int {
	switch {
	case !cpu.X86.HasAVX2:
		return 1
	case cpu.X86.HasAVX512F && cpu.X86.HasAVX512DQ && cpu.X86.HasAVX512VL:
		return 8
	}
	return 4
}
