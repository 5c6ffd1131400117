package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"flexwright/configs"
	"flexwright/models"
	"flexwright/models/mechanics"

	"github.com/spf13/cobra"
)

// position is one solved position as JSON: SI units.
type position struct {
	X      float64               `json:"x_m"`
	Y      float64               `json:"y_m"`
	Status string                `json:"status"`
	Reason string                `json:"reason,omitempty"`
	Force  []float64             `json:"force_n,omitempty"`
	Bodies map[string][3]float64 `json:"bodies,omitempty"`
	// Natural frequencies, ascending, where asked for
	InPlane    []float64 `json:"in_plane_hz,omitzero"`
	OutOfPlane []float64 `json:"out_of_plane_hz,omitzero"`
	Shapes     []shape   `json:"shapes,omitempty"`
}

// shape is one mode with the motion of every body: x, y (m), yaw (rad), z (m),
// roll, pitch (rad), mass-normalised.
type shape struct {
	Hz         float64               `json:"hz"`
	OutOfPlane float64               `json:"out_of_plane"` // share of the kinetic energy
	Bodies     map[string][6]float64 `json:"bodies"`
}

func newPosition(t *models.Topology, pose *mechanics.Pose) position {
	p := position{X: pose.X, Y: pose.Y, Status: pose.Verdict.Status.String(), Reason: pose.Verdict.Reason()}
	if !pose.Verdict.OK() {
		return p
	}
	p.Force = append([]float64{}, pose.Force...)
	p.Bodies = map[string][3]float64{}
	for i, b := range t.Bodies {
		p.Bodies[b.Name] = [3]float64(pose.Q[3*i : 3*i+3])
	}
	return p
}

func newSolve(s streams) *cobra.Command {
	var at []string
	var modes, segments int
	var asJSON, shapes bool
	c := &cobra.Command{
		Use:   "solve ASSEMBLY.json",
		Short: "Solve a free assembly of bodies and blades",
		Long: `Solve a free assembly of rigid bodies and blades: the actuator forces that hold
its stage at given positions (metres), and how all bodies move; without --at,
the equilibrium under its loads, actuators free. --modes adds the lowest natural
frequencies in the plane and out of it, actuators free; where heights couple the
two, by where a mode moves more. --segments makes each blade of that many: a check
on the one of the fast model, with the mass along the blade and the blades' own
modes.`,
		Example: `  flexwright solve stage.json --at=0.005,0 --at=0.005,0.005
  flexwright solve stage.json --at=0.005,0 --modes 6 --segments 6
  flexwright solve stage.json --at=-0.005,0 --json`,
		Args: exactly("ASSEMBLY.json"),
		RunE: func(c *cobra.Command, args []string) error {
			name, data, err := readInput(s, args[0])
			if err != nil {
				return err
			}
			topology, stage, problems := configs.LoadAssembly(name, data)
			if len(problems) > 0 {
				return &exitError{exitRefused, problems}
			}
			targets, err := parsePositions(at)
			if err != nil {
				return err
			}
			if topology, err = drivenTopology(topology, targets); err != nil {
				return err
			}
			if targets == nil {
				targets = [][2]float64{{}}
			}
			if c.Flags().Changed("modes") && modes < 1 {
				return refuse("--modes %d: at least 1", modes)
			}
			if shapes && (modes == 0 || !asJSON) {
				return refuse("--shapes adds the shapes of --modes to --json; it needs both")
			}
			if segments < 1 || segments > mostSegments {
				return refuse("--segments %d: 1 to %d", segments, mostSegments)
			}
			scratch, dynamics := newMechanics(topology, stage, segments, modes > 0)
			pose := mechanics.NewPose(scratch.Model)
			var list []position
			unsolved := 0
			for _, p := range targets {
				scratch.At(pose, p[0], p[1])
				next := newPosition(topology, pose)
				if pose.Verdict.OK() && modes > 0 {
					next = next.withModes(dynamics, pose, modes, shapes)
				}
				if next.Status != models.Solved.String() {
					unsolved++
				}
				list = append(list, next)
			}
			if asJSON {
				err = writeJSON(s.out, map[string]any{"positions": list})
			} else {
				err = printPositions(s, topology, list)
			}
			if err == nil && unsolved > 0 {
				err = &exitError{status: exitNo}
			}
			return err
		},
	}
	c.Flags().StringArrayVar(&at, "at", nil, "`X,Y`: position of the stage in metres; repeat for more")
	c.Flags().IntVar(&modes, "modes", 0, "lowest `N` natural frequencies in the plane and out of it")
	c.Flags().BoolVar(&shapes, "shapes", false, "the motion of every body in the modes listed, with --modes and --json")
	c.Flags().IntVar(&segments, "segments", 1, "`N` segments per blade")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return c
}

// mostSegments bounds what --segments may ask for: far beyond convergence.
const mostSegments = 32

// newMechanics prepares a stage for solving, with several segments per blade and
// for its modes if asked.
func newMechanics(t *models.Topology, st *models.Stage, segments int, modes bool) (s *mechanics.Scratch, d *mechanics.Dynamics) {
	if segments == 1 {
		s = mechanics.NewScratch(mechanics.NewModel(t))
		s.Prepare(st)
		if modes {
			d = mechanics.NewDynamics(s)
		}
	} else {
		u := mechanics.NewSubdivision(t, segments)
		s = mechanics.NewScratch(u.Fine)
		s.Prepare(u.Fill(st))
		if modes {
			d = mechanics.NewFineDynamics(s, u, false)
		}
	}
	if modes {
		d.Prepare()
	}
	return s, d
}

// withModes adds at most n natural frequencies of each kind, and their shapes if
// asked. Where they cannot
// be computed the position counts as not solved, with the reason.
func (p position) withModes(d *mechanics.Dynamics, pose *mechanics.Pose, n int, shapes bool) position {
	in, out, v := d.Lists(pose)
	if !v.OK() {
		return position{X: p.X, Y: p.Y, Status: v.Status.String(), Reason: v.Reason()}
	}
	hertz := func(omega []float64) []float64 {
		f := []float64{}
		for _, w := range omega[:min(n, len(omega))] {
			f = append(f, w/(2*math.Pi))
		}
		return f
	}
	p.InPlane, p.OutOfPlane = hertz(in), hertz(out)
	if !shapes {
		return p
	}
	list, v := d.Shapes(pose)
	if !v.OK() {
		return position{X: p.X, Y: p.Y, Status: v.Status.String(), Reason: v.Reason()}
	}
	var count [2]int
	for _, m := range list {
		kind := 0
		if m.Out >= 0.5 {
			kind = 1
		}
		if count[kind]++; count[kind] > n {
			continue
		}
		next := shape{Hz: m.Omega / (2 * math.Pi), OutOfPlane: m.Out, Bodies: map[string][6]float64{}}
		for i, q := range m.Bodies {
			next.Bodies[d.Topology().Bodies[i].Name] = q
		}
		p.Shapes = append(p.Shapes, next)
	}
	return p
}

// parsePositions reads the values of --at.
func parsePositions(at []string) ([][2]float64, error) {
	var list [][2]float64
	for _, text := range at {
		x, y, ok := strings.Cut(text, ",")
		a, errA := strconv.ParseFloat(strings.TrimSpace(x), 64)
		b, errB := strconv.ParseFloat(strings.TrimSpace(y), 64)
		if !ok || errA != nil || errB != nil || a-a != 0 || b-b != 0 {
			return nil, refuse("--at=%s: expected two finite numbers in metres, such as --at=0.005,-0.002", text)
		}
		list = append(list, [2]float64{a, b})
	}
	return list, nil
}

// drivenTopology returns what is solved: with positions, the stage's
// coordinates are prescribed along the actuators' axes; without, the actuators
// are free.
func drivenTopology(t *models.Topology, targets [][2]float64) (*models.Topology, error) {
	driven := *t
	if targets == nil {
		driven.Actuators = nil
		return &driven, nil
	}
	held := t.Bodies[t.Stage].Held
	axes := []models.Axis{models.AxisX, models.AxisY}
	switch len(t.Actuators) {
	case 0:
		return nil, refuse("--at needs an actuator that takes the stage there; the assembly has none")
	case 1:
		axes = []models.Axis{t.Actuators[0].Axis}
		for _, p := range targets {
			if p[1-axes[0]%2] != 0 {
				return nil, refuse("--at=%g,%g: the only actuator moves along %s; the other coordinate must be 0, it follows", p[0], p[1], axes[0])
			}
		}
	}
	for _, a := range axes {
		if a == models.AxisYaw || held.Has(a) {
			return nil, refuse("--at: the stage cannot be taken along %s: it is held there, or no actuator pushes", a)
		}
	}
	return &driven, nil
}

func printPositions(s streams, t *models.Topology, list []position) error {
	for i, p := range list {
		if i > 0 {
			fmt.Fprintln(s.out)
		}
		fmt.Fprintf(s.out, "stage at (%g, %g) mm: %s\n", p.X*1e3, p.Y*1e3, p.Status)
		if p.Reason != "" {
			fmt.Fprintf(s.out, "  %s\n", p.Reason)
			continue
		}
		for k, f := range p.Force {
			a := t.Actuators[k]
			fmt.Fprintf(s.out, "  force on %s along %s: %.6g N\n", t.Bodies[a.Body].Name, a.Axis, f)
		}
		table := newTextTable("  body", "x mm", "y mm", "yaw µrad")
		for _, b := range t.Bodies {
			q := p.Bodies[b.Name]
			table.row("  "+b.Name, fmt.Sprintf("%.6f", q[0]*1e3), fmt.Sprintf("%.6f", q[1]*1e3), fmt.Sprintf("%.3f", q[2]*1e6))
		}
		if err := table.write(s.out); err != nil {
			return err
		}
		printFrequencies(s, "in plane", p.InPlane)
		printFrequencies(s, "out of plane", p.OutOfPlane)
	}
	return nil
}

func printFrequencies(s streams, what string, list []float64) {
	if len(list) == 0 {
		return
	}
	fmt.Fprintf(s.out, "  %s, Hz:", what)
	for _, f := range list {
		fmt.Fprintf(s.out, " %.4g", f)
	}
	fmt.Fprintln(s.out)
}
