//go:build wasip1

// Command wasm is the evaluator of a live report: a module without a main program, which
// a worker of the page asks by three functions.
package main

import (
	"encoding/json"
	"unsafe"

	"flexwright/results/report/live/evaluator"
)

var (
	in, out []byte
	open    *evaluator.Evaluator
)

func main() {}

// room makes room for a request and returns where.
//
//go:wasmexport room
func room(n uint32) uint32 {
	if in = make([]byte, n); n == 0 {
		return 0
	}
	return uint32(uintptr(unsafe.Pointer(&in[0])))
}

// begin takes {"brief": text, "layouts": {name: text}} and returns the length of the
// answer: empty, or an error.
//
//go:wasmexport begin
func begin() uint32 {
	var r struct {
		Brief   string            `json:"brief"`
		Layouts map[string]string `json:"layouts"`
	}
	err := json.Unmarshal(in, &r)
	if err == nil {
		if open, err = evaluator.Open(r.Brief, r.Layouts); err == nil {
			open.Progress = func(text []byte) { progress(unsafe.Pointer(&text[0]), uint32(len(text))) }
		}
	}
	if out = []byte("{}"); err != nil {
		out, _ = json.Marshal(map[string]string{"error": err.Error()})
	}
	return uint32(len(out))
}

// ask answers the request and returns the length of the answer.
//
//go:wasmexport ask
func ask() uint32 {
	out = open.Handle(in)
	return uint32(len(out))
}

// answer is where the last one is.
//
//go:wasmexport answer
func answer() uint32 { return uint32(uintptr(unsafe.Pointer(&out[0]))) }

// progress hands the page a text while a request is being answered.
//
//go:wasmimport page progress
func progress(text unsafe.Pointer, n uint32)
