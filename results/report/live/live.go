// Package live holds the evaluator that a live report carries: the program's own
// evaluation, compiled to WebAssembly. It is not under version control: go generate in
// this folder makes it, and what is built afterwards holds it.
package live

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
)

//go:generate go run ./build

//go:embed built
var built embed.FS

// Module returns the evaluator, compressed by gzip, and the SHA-256 of that, hexadecimal;
// false where none was made before the program was built.
func Module() (compressed []byte, digest string, ok bool) {
	compressed, err := built.ReadFile("built/evaluator.wasm.gz")
	if err != nil {
		return nil, "", false
	}
	sum := sha256.Sum256(compressed)
	return compressed, hex.EncodeToString(sum[:]), true
}
