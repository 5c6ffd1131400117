package objective

import (
	"math"

	"flexwright/models"
)

// armMass is that of the heaviest driven body.
func (b *Bench) armMass() float64 {
	most := 0.0
	for _, body := range b.topology.Driven {
		most = max(most, b.stage.BodyMass(b.topology, body))
	}
	return most
}

// movingMass is that of everything that moves, blades included.
func (b *Bench) movingMass() float64 {
	st, total := b.stage, 0.0
	for i, body := range b.topology.Bodies {
		if body.Held != models.HeldAll && b.topology.Whole(i) == i {
			total += st.BodyMass(b.topology, i)
		}
	}
	for i := range b.topology.Blades {
		total += st.Density[i] * b.bladeLength(i) * st.Thickness[i] * st.Width[i]
	}
	return total
}

func (b *Bench) bladeLength(i int) float64 {
	st := b.stage
	return math.Hypot(st.TipX[i]-st.RootX[i], st.TipY[i]-st.RootY[i])
}

func (b *Bench) thinnestBlade() float64 {
	least := math.Inf(1)
	for _, t := range b.stage.Thickness {
		least = min(least, t)
	}
	return least
}

// slenderness is the largest L/t.
func (b *Bench) slenderness() float64 {
	most := 0.0
	for i, t := range b.stage.Thickness {
		most = max(most, b.bladeLength(i)/t)
	}
	return most
}

// aspect is the largest b/t.
func (b *Bench) aspect() float64 {
	most := 0.0
	for i, t := range b.stage.Thickness {
		most = max(most, b.stage.Width[i]/t)
	}
	return most
}
