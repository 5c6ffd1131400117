package bench

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"strconv"
	"time"

	"flexwright/search"
	"flexwright/search/problems"
)

// ReadBounds reads the description of a problem that a program answers: a JSON
// object with
//
//	lower, upper   ends of the variables' ranges
//	step           optional: step of each variable, 0 for a continuous one
//	objectives     how many, from 1
//	constraints    how many; 0 if left out
//	ideal, nadir, hypervolume   optional: what is known of the front
func ReadBounds(text []byte) (problems.Problem, error) {
	var b struct {
		Lower, Upper, Step, Ideal, Nadir []float64
		Objectives, Constraints          int
		Hypervolume                      *float64
	}
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(&b); err != nil {
		return problems.Problem{}, err
	}
	if _, err := d.Token(); err != io.EOF {
		return problems.Problem{}, errors.New("something follows the description")
	}
	p := problems.Problem{Objectives: b.Objectives, Constraints: b.Constraints, Ideal: b.Ideal, Nadir: b.Nadir}
	n := len(b.Lower)
	var faults []error
	fault := func(bad bool, format string, args ...any) {
		if bad {
			faults = append(faults, fmt.Errorf(format, args...))
		}
	}
	fault(n == 0, "lower: at least one variable")
	fault(len(b.Upper) != n, "upper: %d values, lower has %d", len(b.Upper), n)
	fault(len(b.Step) != 0 && len(b.Step) != n, "step: %d values, lower has %d", len(b.Step), n)
	fault(b.Objectives < 1 || b.Objectives > 5, "objectives: from 1 to 5, not %d", b.Objectives)
	fault(b.Constraints < 0, "constraints: from 0, not %d", b.Constraints)
	known := len(b.Ideal) > 0 || len(b.Nadir) > 0 || b.Hypervolume != nil
	if known {
		fault(len(b.Ideal) != b.Objectives, "ideal: %d values for %d objectives", len(b.Ideal), b.Objectives)
		fault(len(b.Nadir) != b.Objectives, "nadir: %d values for %d objectives", len(b.Nadir), b.Objectives)
		fault(b.Hypervolume == nil || !(*b.Hypervolume > 0), "hypervolume: above 0; it goes with ideal and nadir")
		for k := range min(len(b.Ideal), len(b.Nadir)) {
			fault(!(b.Nadir[k] > b.Ideal[k]), "nadir: %g of objective %d is not above ideal, %g", b.Nadir[k], k+1, b.Ideal[k])
		}
		if b.Hypervolume != nil {
			p.Hypervolume = *b.Hypervolume
		}
	}
	for d := range min(n, len(b.Upper)) {
		v := search.Variable{Name: fmt.Sprint("x", d+1), From: b.Lower[d], To: b.Upper[d]}
		if d < len(b.Step) && b.Step[d] != 0 {
			v.Kind, v.Step = search.Stepped, b.Step[d]
		}
		if err := v.Validate(); err != nil {
			faults = append(faults, err)
		}
		p.Space = append(p.Space, v)
	}
	return p, errors.Join(faults...)
}

// Program is a running program that answers points.
type Program struct {
	p       *problems.Problem
	command *exec.Cmd
	in      io.WriteCloser
	answers *bufio.Reader
	line    int
}

// Start runs a command with sh -c. The program reads one point a line, a JSON
// array, and answers each with one line, in order, as
//
//	{"objectives": [...], "constraints": [...]}
//
// where least is best and a constraint holds at or below 0. Points are sent
// ahead of the answers; the program ends at the end of its input. What it
// writes to standard error goes to ours.
func Start(ctx context.Context, command string, p *problems.Problem) (*Program, error) {
	c := exec.CommandContext(ctx, "sh", "-c", command)
	c.Stderr = os.Stderr
	c.WaitDelay = 5 * time.Second
	in, err := c.StdinPipe()
	if err != nil {
		return nil, err
	}
	out, err := c.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := c.Start(); err != nil {
		return nil, err
	}
	return &Program{p: p, command: c, in: in, answers: bufio.NewReader(out)}, nil
}

// Close ends the program's input and waits for it.
func (q *Program) Close() error {
	q.in.Close()
	io.Copy(io.Discard, q.answers)
	if err := q.command.Wait(); err != nil {
		return fmt.Errorf("the problem command: %w", err)
	}
	return nil
}

// evaluate sends all points and reads all answers at the same time, so that
// neither side waits for the other with full pipes.
func (q *Program) evaluate(points [][]float64, out []search.Outcome) error {
	var text []byte
	for _, x := range points {
		text = append(text, '[')
		for d, v := range x {
			if d > 0 {
				text = append(text, ',')
			}
			text = strconv.AppendFloat(text, v, 'g', -1, 64)
		}
		text = append(text, "]\n"...)
	}
	sent := make(chan error, 1)
	go func() {
		_, err := q.in.Write(text)
		sent <- err
	}()
	for i := range points {
		if err := q.read(&out[i]); err != nil {
			// The writer ends when Close shuts the pipe.
			return err
		}
	}
	return <-sent
}

func (q *Program) read(o *search.Outcome) error {
	q.line++
	line, err := q.answers.ReadBytes('\n')
	if err != nil && !(err == io.EOF && len(line) > 0) {
		return fmt.Errorf("answer %d of the problem command: %w", q.line, err)
	}
	var a struct {
		Objectives, Constraints []float64
	}
	if err := json.Unmarshal(line, &a); err != nil {
		return fmt.Errorf("answer %d of the problem command: %w: %.200s", q.line, err, line)
	}
	if len(a.Objectives) != q.p.Objectives || len(a.Constraints) != q.p.Constraints {
		return fmt.Errorf("answer %d of the problem command: %d objectives and %d constraints, expected %d and %d: %.200s",
			q.line, len(a.Objectives), len(a.Constraints), q.p.Objectives, q.p.Constraints, line)
	}
	copy(o.Objectives, a.Objectives)
	judge(o, a.Constraints)
	return nil
}

// judge sets the violation of an outcome: the sum of positive constraints.
func judge(o *search.Outcome, g []float64) {
	o.Violation, o.Limits = 0, nil
	for _, v := range g {
		o.Violation += max(v, 0)
	}
	if math.IsNaN(o.Violation) {
		o.Violation = math.Inf(1)
		return
	}
	if len(g) > 0 {
		o.Limits = g
	}
}
