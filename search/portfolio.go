package search

import "math/rand/v2"

// operator breeds a child.
type operator int

const (
	opBinary     operator = iota // simulated binary crossover and polynomial mutation
	opDifference                 // differential evolution, all variables
	opPartly                     // differential evolution, some variables only
	opBisect                     // between a feasible point and a point beyond a limit
	numOperators
	opModel = numOperators // proposed by the surrogate
)

// portfolio chooses among operators by what they achieved of late.
type portfolio struct {
	share      [numOperators]float64
	model      float64                   // share of the children that the surrogate proposes
	won, tried [numOperators + 1]float64 // the last is the surrogate
}

const (
	minShare = 0.05 // no operator is given up
	minModel = 0.25 // of the children, for the surrogate
	maxModel = 0.9
	memory   = 0.8 // a generation counts this much less than the next
)

func (p *portfolio) reset() {
	*p = portfolio{}
	p.weigh(false)
}

func (p *portfolio) choose(r *rand.Rand) operator {
	t := r.Float64()
	for op, s := range p.share {
		if t -= s; t < 0 {
			return operator(op)
		}
	}
	return opBinary
}

// learn counts the children and, of them, those among the first rows of the next
// parents.
func (p *portfolio) learn(children, next []*design, rows int) {
	for op := range p.won {
		p.won[op] *= memory
		p.tried[op] *= memory
	}
	for _, c := range children {
		p.tried[c.operator]++
	}
	bisect := false
	for i, d := range next {
		bisect = bisect || d.beyond != nil
		if i < rows && (d.parent != nil || d.operator == opModel) {
			p.won[d.operator]++
		}
	}
	p.weigh(bisect)
}

// weigh sets the shares to the squares of the rates of success.
func (p *portfolio) weigh(bisect bool) {
	var sum, floor, won, tried float64
	for op := range p.share {
		won += p.won[op]
		tried += p.tried[op]
	}
	model, others := (p.won[opModel]+0.5)/(p.tried[opModel]+1), (won+0.5)/(tried+1)
	p.model = min(max(model/(model+others), minModel), maxModel)
	for op := range p.share {
		rate := (p.won[op] + 0.5) / (p.tried[op] + 2)
		p.share[op] = rate * rate
		if op == int(opBisect) && !bisect {
			p.share[op] = 0
			continue
		}
		sum += p.share[op]
		floor += minShare
	}
	for op := range p.share {
		if p.share[op] > 0 {
			p.share[op] = minShare + (1-floor)*p.share[op]/sum
		}
	}
}
