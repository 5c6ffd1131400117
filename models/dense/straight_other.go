//go:build !amd64

package dense

func run8([]float64, []int32) bool { return false }
