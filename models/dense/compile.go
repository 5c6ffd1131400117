package dense

import "slices"

// compile makes the programs.
func (r *Reduction) compile() {
	next := 2 * r.entries
	take := func(n int) (at int) {
		at, next = next, next+n
		return at
	}
	atM := r.entries
	r.atFactor, r.atT, r.atL, r.atID = take(r.entries), take(r.coupled), take(r.below), take(len(r.keeps))
	r.atRoot = take(len(r.keeps))

	// K -= k kᵀ/d and M alike, row by row: t = -k/d, K += k tᵀ, M += t (m + μ t)ᵀ + m tᵀ
	p, t, reciprocal, w := &r.condense, r.atT, take(1), take(r.n)
	r.atW = w
	for _, s := range r.follows {
		p.add(inverse, reciprocal, s.diagonal, 0)
		for a, e := range s.row {
			p.add(minusProduct, t+a, e, reciprocal)
		}
		for a, e := range s.row {
			p.add(same, w+a, atM+e, 0)
		}
		for a := range s.row {
			p.add(plusProduct, w+a, atM+s.diagonal, t+a)
		}
		at := 0
		for a, e := range s.row {
			n := len(s.row) - a
			for b, to := range s.update[at : at+n] {
				p.add(plusProduct, to, e, t+a+b)
			}
			for b, to := range s.update[at : at+n] {
				p.add(plusProduct, atM+to, t+a, w+a+b)
			}
			for b, to := range s.update[at : at+n] {
				p.add(plusProduct, atM+to, atM+e, t+a+b)
			}
			at += n
		}
		t += len(s.row)
	}
	p.finish(nil)

	p = &r.factor
	l := r.atL
	for i, s := range r.keeps {
		p.add(inverse, r.atID+i, r.atFactor+s.diagonal, 0)
		for a, e := range s.row {
			p.add(product, l+a, r.atFactor+e, r.atID+i)
		}
		at := 0
		for a := range s.row {
			for _, e := range s.row[a:] {
				p.add(lessProduct, r.atFactor+s.update[at], l+a, r.atFactor+e)
				at++
			}
		}
		l += len(s.row)
	}
	p.finish(nil)

	// S⁻¹ from the left, then from the right for what is in the lower triangle.
	p = &r.whiten
	n := len(r.keeps)
	x := make([]int, n*n) // numbers, 0 where there is none
	for i, s := range r.keeps {
		p.add(root, r.atRoot+i, r.atID+i, 0)
		x[i*n+i] = take(1)
		r.whitens = append(r.whitens, [2]int{s.diagonal, x[i*n+i]})
		for k, v := range s.near {
			j := r.place[v]
			x[i*n+j], x[j*n+i] = take(1), take(1)
			r.whitens = append(r.whitens, [2]int{s.row[k], x[i*n+j]}, [2]int{s.row[k], x[j*n+i]})
		}
	}
	subtract := func(to *int, l, from int) {
		if *to == 0 {
			*to = take(1)
			p.add(minusProduct, *to, l, from)
			return
		}
		p.add(lessProduct, *to, l, from)
	}
	for _, right := range []bool{false, true} {
		l = r.atL
		for i, s := range r.keeps {
			for k, v := range s.near {
				j := r.place[v]
				for c := range n {
					to, from := &x[j*n+c], x[i*n+c]
					if right {
						to, from = &x[c*n+j], x[c*n+i]
					}
					if from != 0 && (!right || c >= j) {
						subtract(to, l+k, from)
					}
				}
			}
			for c := range n {
				at := x[i*n+c]
				if right {
					at = x[c*n+i]
				}
				if at != 0 && (!right || c >= i) {
					p.add(product, at, at, r.atRoot+i)
				}
			}
			l += len(s.near)
		}
	}
	wanted := map[int32]bool{}
	for i := range n {
		for j := range i + 1 {
			if at := x[i*n+j]; at != 0 {
				r.lower = append(r.lower, [3]int{i, j, at})
				wanted[int32(at)] = true
			}
		}
	}
	p.finish(wanted)
	r.whitens = slices.DeleteFunc(r.whitens, func(e [2]int) bool { return !wanted[int32(e[1])] })
	r.numbers = next
}
