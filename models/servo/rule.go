package servo

// alike is what counts as the same bandwidth.
const alike = 0.99

// decide finds the shape that the rule of [Loop.Tune] takes: the one that it would take if all bounds were reached is looked at closer, and whatever else may take its
// place, until it is judged completely and nothing can. It is the settings' own where no shape has a crossover.
func (l *Loop) decide() *tried {
	for {
		best := l.choose()
		if best == nil {
			return &l.shapes[0]
		}
		if l.refine(best) {
			continue
		}
		rival := l.rival(best)
		switch {
		case rival != nil && l.refine(rival):
		case !best.held:
			l.prove(best)
		case rival != nil:
			l.prove(rival)
		default:
			return best
		}
	}
}

// choose is the rule of [Loop.Tune] on what is known; nil where no shape has a crossover.
func (l *Loop) choose() (best *tried) {
	following := false
	for i := range l.shapes {
		s := &l.shapes[i]
		following = following || s.bandwidth > 0 && s.bandwidth >= l.shapes[0].bandwidth && l.follows(s)
	}
	least := l.shapes[0].bandwidth
	if most := l.fastest(following); most != nil {
		least = max(least, alike*most.bandwidth)
	}
	for i := range l.shapes {
		s := &l.shapes[i]
		if s.bandwidth > 0 && s.bandwidth >= least && (!following || l.follows(s)) && (best == nil || s.before(best)) {
			best = s
		}
	}
	return best
}

// fastest is the shape with the largest bandwidth, that of the settings' own at least, of all or of those that follow; nil where there is none.
func (l *Loop) fastest(following bool) (most *tried) {
	for i := range l.shapes {
		s := &l.shapes[i]
		if s.bandwidth >= l.shapes[0].bandwidth && (!following || l.follows(s)) && (most == nil || s.bandwidth > most.bandwidth) {
			most = s
		}
	}
	return most
}

// rival is a shape to look at closer before best is certain to be what the rule takes, were best what its bounds say; preferably one that can be refined. It is nil where
// there is none.
func (l *Loop) rival(best *tried) (rival *tried) {
	for i := range l.shapes {
		s := &l.shapes[i]
		if s == best || s.bandwidth == 0 {
			continue
		}
		if r := l.contest(s, best); r != nil && r != best {
			if !l.refined(r) {
				return r
			}
			if rival == nil {
				rival = r
			}
		}
	}
	return rival
}

// contest is the shape that has to be known better because of what s may come down to; nil where best stays whatever that is.
func (l *Loop) contest(s, best *tried) *tried {
	own := &l.shapes[0]
	known := own.bandwidth // that own has at least
	if !own.held && own != best {
		known = 0
	}
	follow := 0.0 // bandwidth up to which s may follow set points
	switch {
	case l.follows(s):
		follow = s.bandwidth
	case !s.held && !l.s.BandwidthFirst:
		follow = s.closed
	}
	most := s.bandwidth // that it may have among those that best is one of
	following := l.follows(best)
	unlike := !following && follow > 0 && follow >= known // then best is none of those that the rule takes
	if following || unlike {
		most = follow
	}
	switch fastest := l.fastest(following); {
	case most == 0 || most < known:
		return nil
	case unlike || alike*most > best.bandwidth: // best has too little, if s has so much
	case !s.before(best) || most < alike*best.bandwidth:
		return nil
	case most < alike*fastest.bandwidth: // s has too little, as long as that one has so much
		if fastest.held {
			return nil
		}
		return fastest
	}
	if most < own.bandwidth {
		return own
	}
	return s
}

// follows reports whether set points are followed to −3 dB up to the bandwidth, if that is asked for.
func (l *Loop) follows(s *tried) bool { return s.closed >= s.bandwidth && !l.s.BandwidthFirst }

// before reports whether a shape comes before another of about its bandwidth.
func (s *tried) before(other *tried) bool {
	return s.closed > other.closed || s.closed == other.closed && s.shape.Integrator < other.shape.Integrator
}
