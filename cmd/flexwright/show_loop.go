package main

import (
	"flexwright/objective"
	"flexwright/results/diagnosis"
)

// loop says in words what the numbers of the position loop mean for this design.
func (p *textPage) loop() {
	texts := diagnosis.Loop(p.d)
	if len(texts) == 0 {
		return
	}
	p.head("THE POSITION LOOP IN WORDS")
	for _, text := range texts {
		p.paragraph(text)
	}
}

// dampedJSON is the loop with another damping of every mode; null where no crossover holds.
type dampedJSON struct {
	Factor    float64  `json:"factor"`
	Crossover *float64 `json:"crossover_hz"`
	Bandwidth *float64 `json:"bandwidth_hz"`
}

// newDampedJSON returns nil where the design has no loop.
func newDampedJSON(d *objective.Detail) (list []dampedJSON) {
	n, ok := d.Loop()
	if !ok {
		return nil
	}
	for _, c := range n.Damped {
		j := dampedJSON{Factor: c.Factor}
		if c.Crossover > 0 {
			j.Crossover, j.Bandwidth = &c.Crossover, &c.Bandwidth
		}
		list = append(list, j)
	}
	return list
}
