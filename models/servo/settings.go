package servo

import (
	"errors"
	"fmt"
	"math"
)

// Settings describe the loop. The controller of each axis is
//
//	C(s) = k (1 + ωc/(a s)) (1 + b s/ωc) / ((1 + s/(c ωc)) (1 + s/(d ωc))) · notches · e^(−s τ)
//
// with a = IntegratorRatio, b = LeadRatio, c = TamingRatio, d = LowPassRatio, and k such that
// |C P| = 1 at ωc at the first pose of the first plant, its centre. It is the same at all poses.
// Source of the ratios: Munnig Schmidt, Schitter, Rankers, The Design of High
// Performance Mechatronics, ch. 4.
type Settings struct {
	Sensor         Sensor
	SplitFrequency float64 // Hz, of SensorSplit
	Damping        float64 // ζ of every mode; in (0, 0.2]
	Delay          float64 // τ, s; computing, sampling and amplifier together; ≥ 0
	// ActuatorDamping c acts between each actuator's parts, N s/m: F = F_command − c
	// du/dt with u the arm's motion at the actuator. A voltage amplifier adds Km²
	// (drive.Actuator.Damping), a current amplifier nothing. It grows with the scale
	// of the mode frequencies.
	ActuatorDamping float64

	IntegratorRatio float64 // > 0
	LeadRatio       float64 // ≥ 0
	TamingRatio     float64 // > 0
	LowPassRatio    float64 // > 0; +Inf leaves the low-pass out
	Notches         []Notch // at fixed frequencies, whatever the pose
	AutoNotches     int     // most notches that [Loop.Tune] may add
	Shapes          []Shape // that [Loop.Tune] tries besides these ratios
	BandwidthFirst  bool    // it then looks for the largest bandwidth, whether set points are followed up to it or not

	SensitivityLimit float64   // largest |S| allowed; > 1
	Scales           []float64 // factors on all mode frequencies; one to eight
	OtherAxisOpen    bool      // judge each axis with the other axis's loop open
	OneAxis          bool      // the stage is driven along x alone: forces and outputs along y are 0, there is no controller for them

	From    float64 // Hz, lowest crossover tried
	Ceiling float64 // Hz, highest crossover tried
	Step    float64 // relative step of the downward scan; a range of good crossovers narrower than this may be overlooked
}

// Notch is (s² + 2 ζ Depth ω s + ω²) / (s² + 2 ζ ω s + ω²): at its frequency the gain
// is Depth, its relative width between the −3 dB points 2 ζ = Width.
type Notch struct {
	Frequency float64 // Hz
	Width     float64 // > 0
	Depth     float64 // in [0, 1]
}

// Default returns the settings used where a brief is silent: sensor stage, split at
// 10 Hz, ζ 0.002, τ 150 µs, ratios 10, 3, 3, 10, no notches, |S| ≤ 2 (6 dB), mode
// frequencies × 1, 0.97, 1.03, crossovers from 5 to 500 Hz in steps of 1 %, no
// shapes besides (common practice).
func Default() Settings {
	return Settings{
		SplitFrequency: 10, Damping: 0.002, Delay: 150e-6,
		IntegratorRatio: 10, LeadRatio: 3, TamingRatio: 3, LowPassRatio: 10,
		SensitivityLimit: 2, Scales: []float64{1, 0.97, 1.03},
		From: 5, Ceiling: 500, Step: 0.01,
	}
}

const maxScales = 8

// MaxDamping is the most that Settings.Damping may be.
const MaxDamping = 0.2

// MaxAutoNotches is the most that Settings.AutoNotches may be.
const MaxAutoNotches = 4

// Validate returns all that is wrong with the settings.
func (s *Settings) Validate() error {
	var all []error
	need := func(ok bool, format string, value any) {
		if !ok {
			all = append(all, fmt.Errorf(format, value))
		}
	}
	positive := func(x float64) bool { return x > 0 && !math.IsInf(x, 1) }
	need(s.Sensor < numSensor, "sensor %d does not exist", s.Sensor)
	need(positive(s.SplitFrequency), "split frequency %g Hz must be positive", s.SplitFrequency)
	need(s.Damping > 0 && s.Damping <= MaxDamping, "damping %g must lie above 0 and at most at 0.2", s.Damping)
	need(s.Delay >= 0 && s.Delay <= 0.1, "delay %g s must lie between 0 and 0.1 s", s.Delay)
	need(s.ActuatorDamping >= 0 && !math.IsInf(s.ActuatorDamping, 1), "actuator damping %g N s/m must not be negative", s.ActuatorDamping)
	need(positive(s.IntegratorRatio), "integrator ratio %g must be positive", s.IntegratorRatio)
	need(s.LeadRatio >= 0 && !math.IsInf(s.LeadRatio, 1), "lead ratio %g must not be negative", s.LeadRatio)
	need(positive(s.TamingRatio), "taming ratio %g must be positive", s.TamingRatio)
	need(s.LowPassRatio > 0, "low-pass ratio %g must be positive", s.LowPassRatio)
	need(s.SensitivityLimit > 1 && s.SensitivityLimit <= 10, "sensitivity limit %g must lie above 1 and at most at 10", s.SensitivityLimit)
	need(len(s.Scales) >= 1 && len(s.Scales) <= maxScales, "%d frequency scales: one to eight are possible", len(s.Scales))
	for _, x := range s.Scales {
		need(x >= 0.5 && x <= 2, "frequency scale %g must lie between 0.5 and 2", x)
	}
	need(positive(s.From), "lowest crossover %g Hz must be positive", s.From)
	need(s.Ceiling > s.From && !math.IsInf(s.Ceiling, 1), "ceiling %g Hz must lie above the lowest crossover", s.Ceiling)
	need(s.Step >= 0.0005 && s.Step <= 0.1, "scan step %g must lie between 0.0005 and 0.1", s.Step)
	for _, c := range s.Shapes {
		need(positive(c.Integrator) && c.Lead >= 0 && !math.IsInf(c.Lead, 1) && positive(c.Taming) && c.LowPass > 0, "shape %v: ratios must be positive", c)
	}
	need(s.AutoNotches >= 0 && s.AutoNotches <= MaxAutoNotches, "%d notches to be found: none to four are possible", s.AutoNotches)
	for _, n := range s.Notches {
		need(positive(n.Frequency), "notch frequency %g Hz must be positive", n.Frequency)
		need(positive(n.Width), "notch width %g must be positive", n.Width)
		need(n.Depth >= 0 && n.Depth <= 1, "notch depth %g must lie between 0 and 1", n.Depth)
	}
	return errors.Join(all...)
}

// Shape is the settings' own.
func (s *Settings) Shape() Shape {
	return Shape{s.IntegratorRatio, s.LeadRatio, s.TamingRatio, s.LowPassRatio}
}

// shape is the controller at w for crossover wc without gain, delay and notches.
func (s *Settings) shape(w, wc float64) complex128 {
	c := s.corners()
	return c.shape(w, wc, 1/wc)
}

// corners are the numbers of a shape
//
//	(1 + a/(jx)) (1 + jbx) / ((1 + jcx) (1 + jdx)),   x = w/ωc
type corners struct{ a, b, c, d, real, cd, sum float64 } // the last three 1 + ab, cd, c + d

func (s *Settings) corners() corners {
	a, b := 1/s.IntegratorRatio, s.LeadRatio
	c, d := 1/s.TamingRatio, 1/s.LowPassRatio
	return corners{a, b, c, d, 1 + a*b, c * d, c + d}
}

// shape is the controller's at w; per is 1/wc. One division is in it, and one in a/x.
func (c *corners) shape(w, wc, per float64) complex128 {
	x := w * per
	ni := c.b*x - c.a*(wc/w)
	dr, di := 1-x*x*c.cd, x*c.sum
	q := 1 / (dr*dr + di*di)
	return complex((c.real*dr+ni*di)*q, (ni*dr-c.real*di)*q)
}

// notched2 is |lag|².
func (s *Settings) notched2(w float64) float64 {
	if len(s.Notches) == 0 {
		return 1
	}
	return square(s.lag(w))
}

// lag is delay and notches at w, the part of the controller that does not move with
// the crossover.
func (s *Settings) lag(w float64) complex128 {
	sin, cos := math.Sincos(w * s.Delay)
	h := complex(cos, -sin)
	for i := range s.Notches {
		n := &s.Notches[i]
		x := w / (2 * math.Pi * n.Frequency)
		r := 1 - x*x
		h *= complex(r, n.Width*n.Depth*x) / complex(r, n.Width*x)
	}
	return h
}
