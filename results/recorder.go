package results

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/search"
)

// Study is what a [Recorder] needs to know of a search beside its folder.
type Study struct {
	Pool  *search.Pool // nil: one worker per processor
	Goals int          // objectives of an outcome

	// Propose fills what a row says of a point before it is evaluated: layout,
	// material and the parameters that the point sets; the others are NaN when it is called and may
	// stay so. On resume, each proposed point is compared with the stored row by it.
	Propose func(x []float64, row *objective.Row)
	// Evaluate evaluates a point into a row that Propose has filled, with ID and Generation set. Worker
	// numbers the calls that run at the same time from 0. A panic becomes a
	// row of status failed.
	Evaluate func(worker int, x []float64, row *objective.Row)
	// Outcome is what the plan is told of a row, fresh or stored. It reads
	// stored columns alone, so that both are equal bit for bit. Objectives has
	// its length, Goals. It is called by several workers at once.
	Outcome func(row *objective.Row, out *search.Outcome)
	// Observe, if not nil, sees all rows in order, stored (replayed) and fresh
	// ones. They are valid during the call.
	Observe func(rows []objective.Row, replayed bool)

	MaxDesigns int64         // rows to end with; 0: no bound
	For        time.Duration // from now on; 0: no bound. It does not count the time the machine sleeps
}

const (
	// partTime is how much work a part holds, and a crash loses, once a run has
	// been going for a while. At first it is half of the time so far, but at
	// least firstPartTime: a part costs some 2 ms beside its rows.
	partTime      = 5 * time.Second
	firstPartTime = 500 * time.Millisecond
	// partRows bounds the memory of rows that are not stored yet.
	partRows = 16384
	// chunkTime is how much is evaluated between two looks at the clock.
	chunkTime = 250 * time.Millisecond
)

// Recorder stands between a plan and its evaluation. It answers proposals from
// the stored rows as long as they last, evaluates the others, and stores them.
// Its Batch is a [search.Batch].
type Recorder struct {
	folder     *Folder
	run        *Run // nil: compare with what is stored, and end there
	study      Study
	stored     int64 // rows when the recorder was made
	parameters int
	now        func() time.Time
	started    time.Time
	end        time.Time // zero: none
	err        error     // the first; nothing goes on after it

	replay  *rowReader // nil once all stored rows are answered
	answer  []objective.Row
	compare objective.Row

	rows    []objective.Row // not stored yet
	spare   []objective.Row // the memory of the rows that are being stored
	since   time.Time       // when the first of rows was begun
	storing chan error      // of the part that is being written, nil if none

	exchange *exchange // of an island, else nil

	count int64   // rows answered so far, stored and fresh
	pace  float64 // evaluations per second
}

// Recorder starts to record a search into the run. Call Finish when the plan has ended.
func (r *Run) Recorder(s Study) *Recorder {
	if s.Pool == nil {
		s.Pool = search.NewPool(runtime.GOMAXPROCS(0))
	}
	c := r.Replay(s)
	c.run, c.stored, c.started = r, r.rows, c.now()
	if s.For > 0 {
		c.end = c.started.Add(s.For)
	}
	return c
}

// Replay returns a Recorder that compares what a plan proposes with the stored
// rows, answers from them, and ends behind the last. Finish returns the first difference as a
// MismatchError, or nothing.
func (f *Folder) Replay(s Study) *Recorder {
	c := &Recorder{folder: f, study: s, stored: f.manifest.Rows, now: time.Now}
	_, c.parameters = storedColumns(f.manifest.Columns)
	c.replay, c.err = f.readRows()
	return c
}

// Batch is a [search.Batch]. It ends with a StopError when something but the plan
// ends the run: MaxDesigns, For, or ctx (a signal); what was being evaluated is finished and
// stored first. Other errors are a MismatchError, when the plan
// proposes something else than what is stored, and those of reading and writing.
func (c *Recorder) Batch(ctx context.Context, p *search.Proposals) ([]search.Outcome, error) {
	if c.err != nil {
		return nil, c.err
	}
	n := len(p.Points)
	out := make([]search.Outcome, n)
	objectives := make([]float64, n*c.study.Goals)
	for i := range out {
		out[i].Objectives = objectives[i*c.study.Goals : (i+1)*c.study.Goals : (i+1)*c.study.Goals]
	}
	if err := c.batch(ctx, p, out); err != nil {
		c.err = err
		return nil, err
	}
	return out, nil
}

func (c *Recorder) batch(ctx context.Context, p *search.Proposals, out []search.Outcome) error {
	if max := c.study.MaxDesigns; max > 0 && c.stored >= max {
		return &StopError{string(ByMaxDesigns)} // nothing to replay for
	}
	done := 0
	for c.replay != nil && done < len(out) {
		if err := c.mayGoOn(ctx); err != nil {
			return err
		}
		n, err := c.answered(p, out, done)
		if err != nil {
			return err
		}
		done += n
	}
	for done < len(out) {
		if c.run == nil {
			return &StopError{}
		}
		if err := c.mayGoOn(ctx); err != nil {
			return err
		}
		n, err := c.evaluate(p, out, done)
		if err != nil {
			return err
		}
		done += n
	}
	return nil
}

// mayGoOn returns a StopError when the run is to end here.
func (c *Recorder) mayGoOn(ctx context.Context) error {
	switch {
	case ctx.Err() != nil:
		return &StopError{string(BySignal)}
	case c.study.MaxDesigns > 0 && c.count >= c.study.MaxDesigns:
		return &StopError{string(ByMaxDesigns)}
	case !c.end.IsZero() && !c.now().Before(c.end):
		return &StopError{string(ByTime)}
	}
	return nil
}

// answered answers from stored rows, a bounded number at a time.
func (c *Recorder) answered(p *search.Proposals, out []search.Outcome, first int) (int, error) {
	n := min(len(out)-first, batchRows)
	if len(c.answer) < n {
		c.answer = append(c.answer, make([]objective.Row, n-len(c.answer))...)
	}
	for i := range n {
		row := &c.answer[i]
		if err := c.replay.next(row); err == io.EOF {
			c.replay.close()
			c.replay = nil
			n = i
			break
		} else if err != nil {
			return 0, err
		}
		if err := c.same(p, first+i, row); err != nil {
			return 0, err
		}
		c.study.Outcome(row, &out[first+i])
	}
	c.count += int64(n)
	if c.study.Observe != nil && n > 0 {
		c.study.Observe(c.answer[:n], true)
	}
	return n, nil
}

// same compares a proposed point with the stored row, bit for bit.
func (c *Recorder) same(p *search.Proposals, i int, row *objective.Row) error {
	want := &c.compare
	c.propose(p, i, want)
	differs := func(what string, have, want any) error {
		return &MismatchError{c.folder.dir, fmt.Sprintf("design %d (made by a different version or brief)", row.ID),
			fmt.Sprintf("%s %v", what, have), fmt.Sprintf("%s %v", what, want)}
	}
	switch {
	case row.ID != want.ID:
		return differs("number", row.ID, want.ID)
	case row.Generation != want.Generation:
		return differs("generation", row.Generation, want.Generation)
	case row.Layout != want.Layout:
		return differs("layout", row.Layout, want.Layout)
	case row.Material != want.Material:
		return differs("material", row.Material, want.Material)
	case len(row.Parameters) != len(want.Parameters):
		return differs("parameters:", len(row.Parameters), len(want.Parameters))
	}
	for k, w := range want.Parameters {
		if h := row.Parameters[k]; !math.IsNaN(w) && math.Float64bits(h) != math.Float64bits(w) { // NaN: the point leaves it open
			return differs(c.folder.columns[columnNamed(c.folder.columns, "material")+1+k].Name, h, w)
		}
	}
	return nil
}

func (c *Recorder) propose(p *search.Proposals, i int, row *objective.Row) {
	parameters := row.Parameters
	if cap(parameters) < c.parameters {
		parameters = make([]float64, c.parameters)
	}
	parameters = parameters[:c.parameters]
	for k := range parameters {
		parameters[k] = math.NaN()
	}
	*row = objective.Row{ID: p.IDs[i], Generation: int64(p.Generation), Parameters: parameters}
	c.study.Propose(p.Points[i], row)
}

// evaluate evaluates as many points as take chunkTime, and stores when it is time.
func (c *Recorder) evaluate(p *search.Proposals, out []search.Outcome, first int) (int, error) {
	n := min(len(out)-first, max(c.study.Pool.Workers(), int(c.pace*chunkTime.Seconds())))
	if max := c.study.MaxDesigns; max > 0 {
		n = int(min(int64(n), max-c.count))
	}
	begin := c.now()
	if len(c.rows) == 0 {
		c.since = begin
	}
	at := len(c.rows)
	c.rows = grow(c.rows, n)
	rows, misfits := c.rows[at:], make([]string, n)
	// The chunk is short and is always finished: rows are stored without gaps.
	_, panics := c.study.Pool.Do(context.Background(), n, func(worker, i int) {
		c.propose(p, first+i, &rows[i])
		c.study.Evaluate(worker, p.Points[first+i], &rows[i])
		if misfits[i] = misfit(c.folder.columns, &rows[i]); misfits[i] == "" {
			c.study.Outcome(&rows[i], &out[first+i])
		}
	})
	for _, e := range panics {
		c.fail(p, first+e.Index, &rows[e.Index], fmt.Sprint("panic: ", e.Value), string(e.Stack))
		c.study.Outcome(&rows[e.Index], &out[first+e.Index])
	}
	for i, why := range misfits {
		if why != "" {
			c.fail(p, first+i, &rows[i], why, "")
			c.study.Outcome(&rows[i], &out[first+i])
		}
	}
	if c.err != nil {
		return 0, c.err
	}
	c.count += int64(n)
	now := c.now()
	if took := now.Sub(begin); took > 0 {
		pace := float64(n) / took.Seconds()
		if c.pace > 0 { // no jumps: one slow region, one busy neighbour
			pace = min(max(pace, c.pace/2), 2*c.pace)
		}
		c.pace = pace
	}
	if c.study.Observe != nil {
		c.study.Observe(rows, false)
	}
	due := max(firstPartTime, min(partTime, now.Sub(c.started)/2))
	if now.Sub(c.since) >= due || len(c.rows) >= partRows {
		return n, c.store()
	}
	return n, nil
}

// grow lengthens rows by n and keeps the memory of the parameters.
func grow(rows []objective.Row, n int) []objective.Row {
	rows = slices.Grow(rows, n)
	return rows[:len(rows)+n]
}

// fail makes a row of a candidate that ended in a fault of the program.
func (c *Recorder) fail(p *search.Proposals, i int, row *objective.Row, fault, stack string) {
	solve := row.SolveUS
	func() {
		defer func() {
			if v := recover(); v != nil {
				row.Layout, row.Material = "unknown", "unknown"
			}
		}()
		c.propose(p, i, row)
	}()
	row.Status, row.Violation, row.SolveUS = models.Failed, math.NaN(), solve
	if math.IsNaN(solve) {
		row.SolveUS = 0
	}
	first, _, _ := strings.Cut(fault, "\n")
	row.Reason = objective.Fault(first)
	if err := c.wait(); err != nil {
		c.err = err
	} else if err := c.run.LogFault(row.ID, fault, stack); err != nil {
		c.err = err
	}
}

// store hands the rows to be written as a part, while the next are evaluated.
func (c *Recorder) store() error {
	if err := c.wait(); err != nil {
		return err
	}
	if len(c.rows) == 0 {
		return nil
	}
	rows, done := c.rows, make(chan error, 1)
	c.rows, c.spare = c.spare[:0], rows
	c.storing = done
	go func() { done <- c.run.Append(rows) }()
	return nil
}

// wait waits for the part that is being written.
func (c *Recorder) wait() error {
	if c.storing == nil {
		return nil
	}
	err := <-c.storing
	c.storing = nil
	return err
}

// Finish says what ended the run, given what the plan returned, and stores what is left, or leaves it to
// [Run.End], which would only read it back. The error is one that a run does not end by in good order. With a
// WriteError the cause is ByCannotWrite; then, and always when the error is nil, call End.
func (c *Recorder) Finish(ended search.EndedBy, err error) (Cause, error) {
	stored := c.wait()
	if c.replay != nil {
		c.replay.close()
	}
	if stored != nil {
		return c.cause(ended, stored)
	}
	cause, err := c.cause(ended, err)
	switch {
	case len(c.rows) == 0 || c.err != nil && !isStop(c.err):
	case err == nil && cause.state() == Ended:
		c.run.last = c.rows
	default:
		if stored = c.run.Append(c.rows); stored != nil {
			return c.cause(ended, stored)
		}
	}
	return cause, err
}

// cause is what ended the run.
func (c *Recorder) cause(ended search.EndedBy, err error) (Cause, error) {
	var stop *StopError
	var write *WriteError
	switch {
	case errors.As(err, &stop) && (c.run != nil || c.count >= c.stored):
		return Cause(stop.By), nil
	case errors.Is(err, context.Canceled) && c.run != nil: // the plan looked at ctx between two batches
		return BySignal, nil
	case errors.As(err, &write):
		return ByCannotWrite, err
	case err != nil:
		return "", err
	case c.count < c.stored:
		return "", &MismatchError{c.folder.dir, "number of designs (made by a different version or brief)", strconv.FormatInt(c.stored, 10), strconv.FormatInt(c.count, 10)}
	}
	if c.run == nil {
		return "", nil
	}
	cause := Cause(ended.String())
	if c.exchange != nil && (cause == ByStagnation || cause == ByNoPointLeft) {
		if err := c.exchange.ended(); err != nil {
			return ByCannotWrite, err
		}
	}
	return cause, nil
}

func isStop(err error) bool {
	var stop *StopError
	return errors.As(err, &stop)
}
