package drive

import (
	"math"
	"math/rand/v2"
	"testing"
)

// plainDuty is Duty moment by moment, as its formulas are written.
func plainDuty(p *Program, a *Actuator, load *Load) (d Duty) {
	field := func(axis int, s *sample) (force, rate float64) {
		var x, y basis
		x.at(s.p[0])
		y.at(s.p[1])
		f := &load.Field
		for n := range 9 {
			i, j := n%3, n/3
			v, rx, ry := f.Force[axis][n], f.rest[axis][0][n], f.rest[axis][1][n]
			force += y.l[j]*(x.l[i]*v+x.h[i]*rx) + y.h[j]*x.l[i]*ry
			rate += s.v[0]*(y.l[j]*(x.dl[i]*v+x.dh[i]*rx)+y.h[j]*x.dl[i]*ry) + s.v[1]*(y.dl[j]*(x.l[i]*v+x.h[i]*rx)+y.dh[j]*x.l[i]*ry)
		}
		return force, rate
	}
	for _, scale := range load.Scales {
		for axis := range load.axes() {
			travel, p0, sum := load.Field.Travel, 0.0, 0.0
			at := func(s *sample) (f, rate, g float64) {
				static, staticRate := field(axis, s)
				f = scale*scale*static + travel*(load.Mass[axis]*s.a[axis]+load.Damping[axis]*s.v[axis]+a.StiffnessAlong*s.p[axis])
				rate = scale*scale*staticRate + travel*(load.Mass[axis]*s.j[axis]+load.Damping[axis]*s.a[axis]+a.StiffnessAlong*s.v[axis])
				return f, rate, a.Weakening(s.p[axis] * travel)
			}
			for i := range p.samples {
				s := &p.samples[i]
				f, _, g := at(s)
				sum += s.weight * f * f
				p0 += s.weight * f * f / (g * g)
				d.PeakForce[axis] = math.Max(d.PeakForce[axis], math.Abs(f))
			}
			d.RMSForce[axis] = math.Max(d.RMSForce[axis], math.Sqrt(sum))
			hot := d.heat(a, axis, p0)
			for i := range p.samples {
				s := &p.samples[i]
				f, rate, g := at(s)
				i, di := f/(a.ForceConstant*g), rate/(a.ForceConstant*g)
				u := a.Resistance()*hot*i + a.Inductance*di + a.ForceConstant*g*s.v[axis]*travel
				d.Voltage[axis] = math.Max(d.Voltage[axis], math.Abs(u))
			}
		}
	}
	return d
}

// The columns come to what the formulas say, moment by moment.
func TestDutyIsPlain(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 9))
	for range 60 {
		m := DefaultMotion([]Kind{Circle, Raster, Steps}[rng.IntN(3)])
		m.Frequency, m.Phase, m.Lines = 0.5+10*rng.Float64(), 3*rng.Float64(), 2+rng.IntN(9)
		m.Amplitude, m.Turn = 0.3+0.7*rng.Float64(), 0.1+0.9*rng.Float64()
		p := program(t, m)
		a, _ := ByName("vc-75")
		a.FallOff, a.StiffnessAlong = 0.3*rng.Float64()*float64(rng.IntN(2)), 1000*rng.NormFloat64()
		load := Load{Field: linear(8e3, 4e-3), Mass: [2]float64{2, 3}, Damping: [2]float64{5, rng.Float64()}, OneAxis: rng.IntN(3) == 0, Scales: []float64{1, 0.97, 1.03}}
		for axis := range 2 {
			for n := range 9 {
				load.Field.Force[axis][n] += 4 * rng.NormFloat64()
				load.Field.Slope[axis][n][0] += 400 * rng.NormFloat64()
				load.Field.Slope[axis][n][1] += 400 * rng.NormFloat64()
			}
		}
		load.Field.Prepare()
		var d Duty
		p.Duty(&a, &load, &d)
		want := plainDuty(p, &a, &load)
		for axis := range 2 {
			for _, c := range []struct {
				name      string
				got, want float64
			}{
				{"peak force", d.PeakForce[axis], want.PeakForce[axis]}, {"rms force", d.RMSForce[axis], want.RMSForce[axis]}, {"power", d.Power[axis], want.Power[axis]},
				{"rise", d.Rise[axis], want.Rise[axis]}, {"voltage", d.Voltage[axis], want.Voltage[axis]},
			} {
				if c.got != c.want && !(math.Abs(c.got-c.want) <= 1e-12*math.Abs(c.want)) {
					t.Errorf("%v: %s %g, moment by moment %g", m.Kind, c.name, c.got, c.want)
				}
			}
			if d.Overheats[axis] != want.Overheats[axis] {
				t.Errorf("overheats %v, moment by moment %v", d.Overheats[axis], want.Overheats[axis])
			}
		}
	}
}
