//go:build race

package results

func init() { shadowed = true }
