// Command build compiles the evaluator of a live report and compresses it. Paths, time and
// version control leave no trace: the same source and Go version give the same bytes.
package main

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
)

func main() {
	if err := build(); err != nil {
		fmt.Fprintln(os.Stderr, "live evaluator:", err)
		os.Exit(1)
	}
}

// build runs in results/report/live, as go generate does.
func build() error {
	dir, err := os.MkdirTemp("", "evaluator")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	out := filepath.Join(dir, "evaluator.wasm")
	c := exec.Command("go", "build", "-trimpath", "-buildvcs=false", "-buildmode=c-shared", "-ldflags=-s -w -buildid=", "-o", out, "./wasm")
	c.Env = append(os.Environ(), "GOOS=wasip1", "GOARCH=wasm", "GOFLAGS=", "GOWASM=")
	c.Stdout, c.Stderr = os.Stdout, os.Stderr
	if err := c.Run(); err != nil {
		return err
	}
	module, err := os.ReadFile(out)
	if err != nil {
		return err
	}
	var packed bytes.Buffer
	z, err := gzip.NewWriterLevel(&packed, gzip.BestCompression)
	if err != nil {
		return err
	}
	if _, err := z.Write(module); err != nil {
		return err
	}
	if err := z.Close(); err != nil {
		return err
	}
	const name = "built/evaluator.wasm.gz"
	if old, err := os.ReadFile(name); err == nil && bytes.Equal(old, packed.Bytes()) {
		return nil // an embedded file that did not change builds nothing anew
	}
	return os.WriteFile(name, packed.Bytes(), 0o666)
}
