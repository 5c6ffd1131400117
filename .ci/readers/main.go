// Command readers reads a Parquet file with the Arrow library and prints what
// is in it: rows, and for each column how many values are not null and their sum
// (of numbers; of text the bytes, of truth values the true ones), and the file's
// key-value metadata.
package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"

	"github.com/apache/arrow-go/v18/arrow/array"
	"github.com/apache/arrow-go/v18/arrow/memory"
	"github.com/apache/arrow-go/v18/parquet/file"
	"github.com/apache/arrow-go/v18/parquet/pqarrow"
)

type column struct {
	Name  string  `json:"name"`
	Count int     `json:"count"`
	Sum   float64 `json:"sum"`
}

type summary struct {
	Rows     int64             `json:"rows"`
	Columns  []column          `json:"columns"`
	Metadata map[string]string `json:"metadata"`
}

func main() {
	s, err := read(os.Args[1])
	if err == nil {
		err = json.NewEncoder(os.Stdout).Encode(s)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func read(path string) (*summary, error) {
	f, err := file.OpenParquetFile(path, false)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	s := &summary{Rows: f.NumRows(), Metadata: map[string]string{}}
	metadata := f.MetaData().KeyValueMetadata()
	for i, k := range metadata.Keys() {
		s.Metadata[k] = metadata.Values()[i]
	}
	r, err := pqarrow.NewFileReader(f, pqarrow.ArrowReadProperties{}, memory.DefaultAllocator)
	if err != nil {
		return nil, err
	}
	table, err := r.ReadTable(context.Background())
	if err != nil {
		return nil, err
	}
	defer table.Release()
	for i := range int(table.NumCols()) {
		c := column{Name: table.Column(i).Name()}
		for _, chunk := range table.Column(i).Data().Chunks() {
			for k := range chunk.Len() {
				if chunk.IsNull(k) {
					continue
				}
				c.Count++
				switch a := chunk.(type) {
				case *array.Int64:
					c.Sum += float64(a.Value(k))
				case *array.Float64:
					c.Sum += a.Value(k)
				case *array.String:
					c.Sum += float64(len(a.Value(k)))
				case *array.Boolean:
					if a.Value(k) {
						c.Sum++
					}
				default:
					return nil, fmt.Errorf("column %s is a %T", c.Name, chunk)
				}
			}
		}
		s.Columns = append(s.Columns, c)
	}
	return s, nil
}
