package main

import (
	"bytes"
	"encoding/json"
	"io"
	"sync"
)

// jsonLines writes messages as lines of JSON, {"message": TEXT}; lines that are
// objects already pass as they are.
type jsonLines struct {
	w    io.Writer
	mu   sync.Mutex
	rest []byte // of a line that has not ended
}

func (j *jsonLines) Write(p []byte) (int, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	j.rest = append(j.rest, p...)
	for {
		line, rest, ended := bytes.Cut(j.rest, []byte("\n"))
		if !ended {
			return len(p), nil
		}
		if err := j.line(line); err != nil {
			return 0, err
		}
		j.rest = append(j.rest[:0], rest...)
	}
}

func (j *jsonLines) line(line []byte) error {
	line = bytes.TrimSpace(line)
	if len(line) == 0 {
		return nil
	}
	if line[0] != '{' || !json.Valid(line) {
		line = jsonMessage("message", string(line))
	}
	_, err := j.w.Write(append(line, '\n'))
	return err
}

// jsonMessage is one text as a JSON object on one line.
func jsonMessage(key, text string) []byte {
	out, err := json.Marshal(map[string]string{key: text})
	if err != nil {
		panic("flexwright: a text that JSON cannot hold")
	}
	return out
}
