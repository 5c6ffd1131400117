package layoutfile

// frame is where a copy stands: mirrored first, then turned by quarter turns.
type frame struct {
	mirror bool
	turn   int // 0 to 3
}

// apply takes a point of the copy's frame to the one it stands in.
func (f frame) apply(x, y float64) (float64, float64) {
	if f.mirror {
		y = -y
	}
	switch f.turn {
	case 1:
		return -y, x
	case 2:
		return -x, -y
	case 3:
		return y, -x
	}
	return x, y
}

// inverse takes back what f does.
func (f frame) inverse() frame {
	if f.mirror { // a mirrored turn is its own inverse
		return f
	}
	return frame{turn: (4 - f.turn) % 4}
}

// swaps reports whether x and y change places.
func (f frame) swaps() bool { return f.turn&1 == 1 }

// in returns f, which stands in g, as seen from where g stands.
func (f frame) in(g frame) frame {
	turn := f.turn
	if g.mirror { // a mirrored turn runs the other way
		turn = -turn
	}
	return frame{mirror: f.mirror != g.mirror, turn: (g.turn + turn + 4) % 4}
}

// set of places: its own frames, in those of its parent.
type set struct {
	name   string
	parent *set
	own    []frame
}

// size is the number of places on the plate.
func (s *set) size() int {
	n := 1
	for ; s != nil; s = s.parent {
		n *= len(s.own)
	}
	return n
}

// frames of all places, within those of top, an ancestor of s or nil.
func (s *set) frames(top *set) []frame {
	if s == top {
		return []frame{{}}
	}
	var out []frame
	for _, outer := range s.parent.frames(top) {
		for _, f := range s.own {
			out = append(out, f.in(outer))
		}
	}
	return out
}

// up returns the number of the place of the ancestor top that place i of s is in.
func (s *set) up(top *set, i int) int {
	for ; s != top; s = s.parent {
		i /= len(s.own)
	}
	return i
}

// within reports whether top is s, an ancestor of it, or the plate.
func (s *set) within(top *set) bool {
	for ; s != nil; s = s.parent {
		if s == top {
			return true
		}
	}
	return top == nil
}
