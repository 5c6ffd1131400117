package main

import (
	"fmt"
	"math"

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
	Force  []float64             `json:"force_n,omitzero"` // nil unless solved
	Bodies map[string][3]float64 `json:"bodies,omitempty"`
	// Natural frequencies, ascending, where asked for
	InPlane    []float64 `json:"in_plane_hz,omitzero"`
	OutOfPlane []float64 `json:"out_of_plane_hz,omitzero"`
	Shapes     []shape   `json:"shapes,omitempty"`
	// Against one segment per blade, where there are more
	Fast *fastDifference `json:"fast,omitempty"`
}

// fastDifference says by how much the fast model, one segment per blade,
// differs at a position: the largest over forces (of the largest force), bodies
// and the modes listed.
type fastDifference struct {
	Status     string   `json:"status"`
	Force      *float64 `json:"force,omitempty"`
	Place      float64  `json:"place_m"`
	Yaw        float64  `json:"yaw_rad"`
	InPlane    *float64 `json:"in_plane,omitempty"`
	OutOfPlane *float64 `json:"out_of_plane,omitempty"`
}

// against compares a position with the same one of the fast model.
func (p position) against(fast position) *fastDifference {
	d := &fastDifference{Status: fast.Status}
	if fast.Status != models.Solved.String() {
		return d
	}
	for name, q := range p.Bodies {
		f := fast.Bodies[name]
		d.Place = max(d.Place, math.Abs(q[0]-f[0]), math.Abs(q[1]-f[1]))
		d.Yaw = max(d.Yaw, math.Abs(q[2]-f[2]))
	}
	largest, off := 0.0, 0.0
	for k, f := range p.Force {
		largest, off = max(largest, math.Abs(f)), max(off, math.Abs(f-fast.Force[k]))
	}
	if largest > 0 {
		off /= largest
		d.Force = &off
	}
	frequency := func(a, b []float64) *float64 {
		worst := 0.0
		for k, f := range a[:min(len(a), len(b))] {
			if f > 0 {
				worst = max(worst, math.Abs(b[k]/f-1))
			}
		}
		return &worst
	}
	if p.InPlane != nil {
		d.InPlane, d.OutOfPlane = frequency(p.InPlane, fast.InPlane), frequency(p.OutOfPlane, fast.OutOfPlane)
	}
	return d
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
its stage at given positions, and how all bodies move; without --at,
the equilibrium under its loads, actuators free. --modes adds the lowest natural
frequencies in the plane and out of it, actuators free; where heights couple the
two, by where a mode moves more. --segments makes each blade of that many: a check
on the one of the fast model, with the mass along the blade and the blades' own
modes, and how much the fast model differs.`,
		Example: `  flexwright solve stage.json --at=0.005,0 --at=0.005,0.005
  flexwright solve stage.json --at=5mm,0mm --modes 6 --segments 6
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
			driven, err := drivenTopology(topology, targets)
			if err != nil {
				return err
			}
			free := targets == nil
			if free {
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
			fine := newSolver(driven, stage, segments, modes, shapes)
			var fast *solver
			if segments > 1 {
				fast = newSolver(driven, stage, 1, modes, false)
			}
			var list []position
			unsolved := 0
			for _, p := range targets {
				next := fine.at(p)
				if next.Status != models.Solved.String() {
					unsolved++
				} else if fast != nil {
					next.Fast = next.against(fast.at(p))
				}
				if free && next.Force != nil {
					next.Force = make([]float64, len(topology.Actuators))
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
	c.Flags().StringArrayVar(&at, "at", nil, "`X,Y`: position of the stage, with units or in metres; repeat for more")
	c.Flags().IntVar(&modes, "modes", 0, "lowest `N` natural frequencies in the plane and out of it")
	c.Flags().BoolVar(&shapes, "shapes", false, "the motion of every body in the modes listed, with --modes and --json")
	c.Flags().IntVar(&segments, "segments", 1, "`N` segments per blade")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return c
}

// mostSegments bounds what --segments may ask for: far beyond convergence.
const mostSegments = 32

// solver solves positions of one assembly.
type solver struct {
	topology *models.Topology
	scratch  *mechanics.Scratch
	dynamics *mechanics.Dynamics // nil unless modes are asked for
	pose     *mechanics.Pose
	modes    int
	shapes   bool
}

func newSolver(t *models.Topology, st *models.Stage, segments, modes int, shapes bool) *solver {
	s := &solver{topology: t, modes: modes, shapes: shapes}
	if segments == 1 {
		s.scratch = mechanics.NewScratch(mechanics.NewModel(t))
		s.scratch.Prepare(st)
		if modes > 0 {
			s.dynamics = mechanics.NewDynamics(s.scratch)
		}
	} else {
		u := mechanics.NewSubdivision(t, segments)
		s.scratch = mechanics.NewScratch(u.Fine)
		s.scratch.Prepare(u.Fill(st))
		if modes > 0 {
			s.dynamics = mechanics.NewFineDynamics(s.scratch, u, false)
		}
	}
	if modes > 0 {
		s.dynamics.Prepare()
	}
	s.pose = mechanics.NewPose(s.scratch.Model)
	return s
}

func (s *solver) at(p [2]float64) position {
	s.scratch.At(s.pose, p[0], p[1])
	next := newPosition(s.topology, s.pose)
	if s.pose.Verdict.OK() && s.modes > 0 {
		next = next.withModes(s.dynamics, s.pose, s.modes, s.shapes)
	}
	return next
}

// withModes adds at most n natural frequencies of each kind, and their shapes if
// asked. Where they cannot
// be computed the position counts as not solved, with the reason.
func (p position) withModes(d *mechanics.Dynamics, pose *mechanics.Pose, n int, shapes bool) position {
	in, out, v := d.Lists(pose, d.NewModes())
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
			fmt.Fprintf(s.out, "  force on %s along %s: %s N\n", t.Bodies[a.Body].Name, a.Axis, significant(f))
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
		printFast(s, p.Fast)
	}
	return nil
}

func printFast(s streams, d *fastDifference) {
	switch {
	case d == nil:
	case d.Status != models.Solved.String():
		fmt.Fprintf(s.out, "  the fast model, one segment per blade, has no answer: %s\n", d.Status)
	default:
		fmt.Fprintf(s.out, "  the fast model, one segment per blade, differs by %.2g µm and %.2g µrad at most", d.Place*1e6, d.Yaw*1e6)
		for _, c := range []struct {
			what string
			by   *float64
		}{{"in force", d.Force}, {"in plane", d.InPlane}, {"out of plane", d.OutOfPlane}} {
			if c.by != nil {
				fmt.Fprintf(s.out, ", %s %s", percent(*c.by), c.what)
			}
		}
		fmt.Fprintln(s.out)
	}
}

func printFrequencies(s streams, what string, list []float64) {
	if len(list) == 0 {
		return
	}
	fmt.Fprintf(s.out, "  %s, Hz:", what)
	for _, f := range list {
		fmt.Fprintf(s.out, " %s", number(f))
	}
	fmt.Fprintln(s.out)
}
