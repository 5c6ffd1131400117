package results

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"slices"

	"github.com/parquet-go/parquet-go"

	"flexwright/models"
	"flexwright/objective"
)

// rows checks each row for itself, and that all are there.
func (v *verifier) rows() {
	f := v.folder
	feasible, err := v.byColumns()
	if err != nil {
		v.out.Rows, v.failed, v.onFront = 0, nil, nil
		feasible, err = v.eachRow() // names the place
	}
	if err != nil {
		var damage *DamageError
		if !errors.As(err, &damage) || !v.bad[damage.Path] { // else it is named already, and closer
			v.trouble(v.dir, err)
		}
		return
	}
	m := f.manifest
	if m.State == Running || m.EndedBy == ByCannotWrite {
		if feasible < m.Feasible {
			v.problem(damaged(f.path(manifestName), "it counts %d feasible rows, and there are %d", m.Feasible, feasible))
		}
	} else if now, err := readManifest(v.on, v.dir); err == nil && now.State == m.State && (v.out.Rows != m.Rows || feasible != m.Feasible) {
		v.problem(damaged(f.path(manifestName), "it counts %d rows, %d feasible, and there are %d and %d", m.Rows, m.Feasible, v.out.Rows, feasible))
	}
	v.doubles()
}

// eachRow reads all rows, checks them and counts the feasible ones.
func (v *verifier) eachRow() (feasible int64, err error) {
	f := v.folder
	r, err := f.readRows()
	if err != nil {
		return 0, err
	}
	defer r.close()
	var row objective.Row
	for {
		switch err := r.next(&row); {
		case err == io.EOF:
			return feasible, nil
		case err != nil:
			return 0, err
		}
		v.out.Rows++
		if why := implausible(&row); why != "" {
			v.problem(&DamageError{Path: r.values.t.path, RowGroup: r.values.r.group, Page: -1, ID: row.ID, Cause: errors.New(why)})
		}
		if row.Feasible {
			feasible++
		}
		if row.Status == models.Failed && len(f.manifest.Runs) == 0 {
			v.failed = append(v.failed, row.ID)
		}
	}
}

// implausible says what a row cannot be, empty if it can.
func implausible(row *objective.Row) string {
	judged := row.Status == models.Solved || row.Status == models.Screened
	switch {
	case row.ID < 1 || row.Generation < 0:
		return "an id below 1 or a generation below 0"
	case row.Feasible && (row.Status != models.Solved || row.Violation != 0):
		return "feasible, but not solved without violation"
	case judged == math.IsNaN(row.Violation) || row.Violation < 0:
		return fmt.Sprintf("violation %v with status %v", row.Violation, row.Status)
	case row.SolveUS < 0:
		return "a negative time"
	}
	return ""
}

// doubles compares the rows that are both in a part and in candidates.parquet.
func (v *verifier) doubles() {
	f := v.folder
	parts, err := f.parts()
	if err != nil || len(parts) == 0 {
		return
	}
	candidates, err := v.open(f.path(candidatesName))
	if err != nil {
		return // none, or named already
	}
	defer candidates.Close()
	whole := candidates.read()
	defer whole.close()
	id, took := columnNamed(f.columns, "id"), columnNamed(f.columns, "solve_us")
	var a, b valueBytes
	var row parquet.Row
	for _, first := range parts {
		if v.bad[f.partPath(first)] {
			continue
		}
		t, err := v.open(f.partPath(first))
		if err != nil {
			continue // gone meanwhile
		}
		part := t.read()
		for t.firstRow < candidates.rows {
			p, err := part.next()
			if err != nil {
				break
			}
			for err == nil && (row == nil || row[id].Int64() < p[id].Int64()) {
				row, err = whole.next()
			}
			if err != nil {
				break
			}
			p = slices.Clone(p)
			p[took] = row[took]
			a.set(row)
			b.set(p)
			if !bytes.Equal(a, b) {
				v.problem(&DamageError{Path: t.path, RowGroup: part.group, Page: -1, ID: p[id].Int64(),
					Cause: errors.New("it is not the same in " + candidatesName)})
				break
			}
		}
		part.close()
		t.Close()
	}
}

// front compares front.parquet with the stored rows, and with the front of them.
func (v *verifier) front() {
	f := v.folder
	path := f.path(frontName)
	if v.bad[path] || v.bad[f.path(candidatesName)] {
		return
	}
	t, err := v.open(path)
	if errors.Is(err, fs.ErrNotExist) {
		if f.manifest.State == Ended {
			v.problem(damaged(path, "missing"))
		}
		return
	} else if err != nil {
		v.trouble(path, err)
		return
	}
	defer t.Close()
	if t.run != f.manifest.Run() {
		v.problem(damaged(path, "it is of another run"))
		return
	}
	if f.manifest.State != Ended {
		return // of an earlier end, with fewer rows
	}
	numbers := v.onFront
	if numbers == nil {
		if numbers, err = f.frontNumbers(isFeasible, "feasible"); err != nil {
			return // named already
		}
	}
	var front []objective.Row // some of it
	r := t.read()
	defer r.close()
	var a, b valueBytes
	for i := 0; ; i++ {
		have, err := r.next()
		if len(front) == 0 && i < len(numbers) {
			var err error
			if front, err = f.rowsAt(numbers[i:min(i+mostPicked, len(numbers))]); err != nil {
				return // named already
			}
		}
		if err == io.EOF {
			if len(front) > 0 {
				v.problem(&DamageError{Path: path, RowGroup: -1, Page: -1, ID: front[0].ID, Cause: errors.New("missing on the front")})
			}
			return
		} else if err != nil || len(have) < len(f.columns) {
			v.problem(damaged(path, "row %d: %w", i, errors.Join(err, errors.New("columns are missing"))))
			return
		}
		if len(front) > 0 {
			a.set(have[:len(f.columns)])
			b.set(encodeRow(f.columns, front[0]))
		}
		if len(front) == 0 || !bytes.Equal(a, b) {
			v.problem(&DamageError{Path: path, RowGroup: r.group, Page: -1, ID: have[columnNamed(f.columns, "id")].Int64(),
				Cause: errors.New("it is not what the stored rows have on the front")})
			return
		}
		front = front[1:]
	}
}
