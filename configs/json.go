package configs

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"
)

// LargestInput is the size in bytes from which on no brief and no assembly is read.
const LargestInput = 1 << 22

const deepestJSON = 16 // levels

// jsonReader turns JSON tokens into nodes with positions.
type jsonReader struct {
	*reader
	data    []byte
	decoder *json.Decoder
	at      place // of data[offset]
	offset  int
}

// parseJSON reads a file into a node; nil when it is no JSON, with the problem
// noted.
func (r *reader) parseJSON(data []byte) *node {
	if len(data) > LargestInput {
		r.refuse(place{1, 1}, fmt.Sprintf("at most %d MB", LargestInput>>20), "the file has %d kB", len(data)>>10)
		return nil
	}
	j := &jsonReader{reader: r, data: data, decoder: json.NewDecoder(bytes.NewReader(data)), at: place{1, 1}}
	j.decoder.UseNumber()
	for i := 0; i < len(data); {
		c, size := utf8.DecodeRune(data[i:])
		if c == utf8.RuneError && size == 1 {
			r.refuse(j.advance(i), "text in UTF-8", "a byte that is no UTF-8 text")
			return nil
		}
		i += size
	}
	n, ok := j.value(0)
	if !ok {
		return nil
	}
	if at := j.next(); j.offset < len(data) {
		r.refuse(at, "the end of the file", "something follows the closing brace")
		return nil
	}
	return &n
}

// advance moves to an offset and returns its position.
func (j *jsonReader) advance(offset int) place {
	for j.offset < offset {
		c, size := utf8.DecodeRune(j.data[j.offset:])
		j.offset += size
		j.at.column++
		if c == '\n' {
			j.at = place{j.at.line + 1, 1}
		}
	}
	return j.at
}

// next returns the position of the next token.
func (j *jsonReader) next() place {
	i := int(j.decoder.InputOffset())
	for i < len(j.data) && bytes.IndexByte([]byte(" \t\r\n,:"), j.data[i]) >= 0 {
		i++
	}
	return j.advance(i)
}

// token returns the next token and its position; false when there is none.
func (j *jsonReader) token() (json.Token, place, bool) {
	at := j.next()
	token, err := j.decoder.Token()
	if err == nil {
		return token, at, true
	}
	rest := j.data[min(j.offset, len(j.data)):]
	for _, word := range []string{"NaN", "-NaN", "Infinity", "-Infinity", "nan", "inf", "-inf"} {
		if bytes.HasPrefix(rest, []byte(word)) {
			j.refuse(at, "a finite number", "%s is no number", word)
			return nil, at, false
		}
	}
	message := err.Error()
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		message = "the file ends too early"
		if len(bytes.TrimSpace(j.data)) == 0 {
			message = "the file is empty"
		}
	}
	j.refuse(at, assemblyOutline, "not well-formed JSON: %s", message)
	return nil, at, false
}

// value reads one value.
func (j *jsonReader) value(depth int) (node, bool) {
	token, at, ok := j.token()
	if !ok {
		return node{}, false
	}
	n := node{place: at, kind: kindText}
	if depth > deepestJSON {
		j.refuse(at, fmt.Sprintf("at most %d levels", deepestJSON), "too deeply nested")
		return n, false
	}
	switch token := token.(type) {
	case json.Delim:
		if token == '{' {
			n.kind = kindMapping
			for j.decoder.More() {
				key, at, ok := j.token()
				if !ok {
					return n, false
				}
				value, ok := j.value(depth + 1)
				if !ok {
					return n, false
				}
				text, _ := key.(string)
				if !j.printable(at, text) {
					return n, false
				}
				n.pairs = append(n.pairs, pair{node{place: at, kind: kindText, text: text, quote: true}, value})
			}
		} else {
			n.kind = kindSequence
			for j.decoder.More() {
				value, ok := j.value(depth + 1)
				if !ok {
					return n, false
				}
				n.items = append(n.items, value)
			}
		}
		_, _, ok := j.token() // the closing one
		return n, ok
	case string:
		n.text, n.quote = token, true
		return n, j.printable(at, token)
	case json.Number:
		n.text = token.String()
	case bool:
		n.text = fmt.Sprint(token)
	default:
		n.kind = kindNull
	}
	return n, true
}
