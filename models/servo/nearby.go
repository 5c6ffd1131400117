package servo

import "math"

// Of a stage that differs little from one whose loop is known, a part with errors of its design, only those poses
// need to be judged that come near the limit there, and only crossovers around the known one.

// UsePoses makes the loop one of plants with n poses, at most as many as it was made for. What was prepared is gone.
func (l *Loop) UsePoses(n int) {
	scales := len(l.s.Scales)
	sets := len(l.cases) / (scales * l.most)
	if n < 1 || n > l.most {
		panic("servo: number of poses")
	}
	if n == l.poses {
		return
	}
	l.poses, l.inUse, l.hots = n, 0, 0
	for set := range sets {
		for scale := range scales {
			for pose := range n {
				c := &l.cases[(set*scales+scale)*n+pose]
				c.set, c.pose, c.scale, c.r = set, pose, l.s.Scales[scale], l.responses[set*n+pose]
			}
		}
	}
}

// SetActuatorDamping makes Settings.ActuatorDamping of the plants that are prepared next another; it must be positive, and the loop
// one whose actuators brake.
func (l *Loop) SetActuatorDamping(c float64) {
	if !(c > 0) || l.s.ActuatorDamping == 0 {
		panic("servo: actuators that do not brake")
	}
	l.s.ActuatorDamping = c
	for _, r := range l.responses {
		r.brake = c
	}
}

// CrossoverBetween returns the crossover of [Loop.Crossover], Hz, where it is above hz, else 0: what is below is not
// searched, nor what is above top, which it is where the crossover is not below. Places are looked at first.
func (l *Loop) CrossoverBetween(hz, top float64, places []Place, plants ...*Plant) float64 {
	l.Prepare(plants...)
	for _, p := range places {
		number := p.Scale*l.poses + p.Pose
		if r := l.cases[number].r; p.cluster < r.clusters {
			l.addWitness(witness{number: number, index: max(r.ends[p.cluster]-p.back, 0)})
		}
	}
	good, _ := l.scan(2*math.Pi*min(l.s.Ceiling, max(top, 1.02*l.s.From)), 2*math.Pi*hz)
	if good > 2*math.Pi*hz {
		return good / (2 * math.Pi)
	}
	return 0
}

// Relaxed returns, Hz, the highest crossover above hz that is good for the plants prepared last when |S| may be as
// large as limit, 0 where there is none: where none is good, none of plants that differ little is with a limit that
// is clearly smaller.
func (l *Loop) Relaxed(hz, limit float64) float64 {
	own := l.s.SensitivityLimit
	l.s.SensitivityLimit, l.limit2 = limit, limit*limit
	good, _ := l.scan(2*math.Pi*l.s.Ceiling, 2*math.Pi*hz)
	l.s.SensitivityLimit, l.limit2 = own, own*own
	if l.hots = 0; good > 2*math.Pi*hz {
		return good / (2 * math.Pi)
	}
	return 0
}

// Place is where |S| of a loop is large: a point of the grid, told by its distance from the last of the cluster of a
// mode, in a case of the first plant.
type Place struct {
	Pose, Scale   int
	cluster, back int
}

// Peaks writes, by pose, the largest |S| over plants, scales and axes of those prepared last at a crossover, Hz;
// infinite where the loop is not stable there. It returns the place of the largest of all with the first plant; ok is false where
// there is none, or a sensor does not see its axis.
func (l *Loop) Peaks(hz float64, peaks []float64) (place Place, ok bool) {
	t, seen := l.trial(2 * math.Pi * hz)
	if !seen {
		return place, false
	}
	clear(peaks[:l.poses])
	most := 0.0
	for i := range l.inUse {
		c := &l.cases[i]
		f := finding{limit2: l.limit2, whole: true}
		l.sweep(c, &t, &f)
		if c.set == 0 && f.index >= 0 && f.peak > most {
			most, ok = f.peak, true
			place = Place{Pose: c.pose, Scale: i / l.poses}
			r := c.r
			for place.cluster < r.clusters-1 && r.ends[place.cluster] < f.index {
				place.cluster++
			}
			place.back = r.ends[place.cluster] - f.index
		}
		if f.reason == UnstableAlone || f.reason == UnstableCoupled {
			f.peak = math.Inf(1)
		}
		peaks[c.pose] = max(peaks[c.pose], math.Sqrt(f.peak))
	}
	return place, ok
}

// Slowest returns the poses at which [Loop.Frequencies] last found the bandwidth and the closed loop's frequency.
func (l *Loop) Slowest() (bandwidth, closedLoop int) {
	return l.cases[l.slowest].pose, l.cases[l.laggard.number].pose
}
