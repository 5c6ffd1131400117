package results

import (
	"encoding/csv"
	"io"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/parquet-go/parquet-go"
)

// ResponseRow is a frequency response at one frequency: of a sensor along an axis to the force on that axis.
type ResponseRow struct {
	Pose      int32   `parquet:"pose"` // counted from 0, the centre, in the order of the plant's file
	XM        float64 `parquet:"x_m"`
	YM        float64 `parquet:"y_m"`
	Axis      string  `parquet:"axis,dict"`   // x or y
	Sensor    string  `parquet:"sensor,dict"` // encoder, stage, gap
	Hz        float64 `parquet:"frequency_hz"`
	Real      float64 `parquet:"real_m_per_n"`
	Imaginary float64 `parquet:"imaginary_m_per_n"`
}

// WriteResponses writes responses as Parquet or CSV, by the file's ending, which must be one of
// these.
func WriteResponses(path string, rows []ResponseRow) error {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".parquet":
		return WriteFile(path, func(w io.Writer) error {
			p := parquet.NewGenericWriter[ResponseRow](w)
			if _, err := p.Write(rows); err != nil {
				return err
			}
			return p.Close()
		})
	case ".csv":
		return WriteFile(path, func(w io.Writer) error {
			c := csv.NewWriter(w)
			head := []string{"pose", "x_m", "y_m", "axis", "sensor", "frequency_hz", "real_m_per_n", "imaginary_m_per_n"}
			if err := c.Write(head); err != nil {
				return err
			}
			number := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
			for _, r := range rows {
				if err := c.Write([]string{strconv.Itoa(int(r.Pose)), number(r.XM), number(r.YM), r.Axis, r.Sensor, number(r.Hz), number(r.Real), number(r.Imaginary)}); err != nil {
					return err
				}
			}
			c.Flush()
			return c.Error()
		})
	}
	panic("results: a response file is neither .parquet nor .csv")
}
