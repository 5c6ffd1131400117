package drawing

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"flexwright/models"
)

// kind is a group of bodies that are alike: of one mass, made of the same
// rectangles, turned as they may be.
type kind struct {
	names []string
	body  int // the first
	parts []part
}

// part is one size of rectangle of a kind.
type part struct {
	first       models.Rectangle
	short, long float64 // m
	count       int     // in one body
}

// kinds groups the bodies, in their order.
func (p *Plate) kinds() []kind {
	round := func(v float64) float64 { return math.Round(v / same) }
	var out []kind
	index := map[string]int{}
	for i, b := range p.Topology.Bodies {
		var parts []part
	rectangles:
		for _, r := range p.outlines[i].Rectangles {
			q := part{r, min(r.X1-r.X0, r.Y1-r.Y0), max(r.X1-r.X0, r.Y1-r.Y0), 1}
			for k := range parts {
				if round(parts[k].short) == round(q.short) && round(parts[k].long) == round(q.long) {
					parts[k].count++
					continue rectangles
				}
			}
			parts = append(parts, q)
		}
		sort.SliceStable(parts, func(i, j int) bool { return parts[i].short*parts[i].long > parts[j].short*parts[j].long })
		name := fmt.Sprintf("%.4g", p.Metal[i])
		for _, q := range parts {
			name += fmt.Sprint(" ", round(q.short), " ", round(q.long), " ", q.count)
		}
		k, ok := index[name]
		if !ok {
			k = len(out)
			index[name] = k
			out = append(out, kind{body: i, parts: parts})
		}
		out[k].names = append(out[k].names, b.Name)
	}
	return out
}

// name is what the sheet calls a kind: "arm-1 to arm-4", "guide-1, -3, -5, -7".
func (k *kind) name() string {
	first, last := k.names[0], k.names[len(k.names)-1]
	stem, _, _ := strings.Cut(first, "-")
	numbers, inOrder := []string{}, true
	for i, n := range k.names {
		s, number, ok := strings.Cut(n, "-")
		if !ok || s != stem {
			return strings.Join(k.names, ", ")
		}
		numbers = append(numbers, "-"+number)
		if i > 0 {
			var a, b int
			fmt.Sscan(numbers[i-1][1:], &a)
			fmt.Sscan(number, &b)
			inOrder = inOrder && b == a+1
		}
	}
	if len(k.names) > 2 && inOrder {
		return first + " to " + last
	}
	return stem + strings.Join(numbers, ", ")
}

// gaps lists the narrowest gap at rest between bodies by the stems of their names,
// nearest first, none wider than most; as in "arm to ground 0.5".
func (p *Plate) gaps(most float64) []string {
	stem := func(body int) string {
		s, _, _ := strings.Cut(p.Topology.Bodies[body].Name, "-")
		return s
	}
	least := map[string]float64{}
	for i := range p.outlines {
		for j := i + 1; j < len(p.outlines); j++ {
			pair := [2]models.Outline{p.outlines[i], p.outlines[j]}
			a, b := stem(i), stem(j)
			if a > b {
				a, b = b, a
			}
			key := a + " to " + b
			g := models.Clearance(pair[:], make([]models.Motion, len(p.outlines)))
			if d, ok := least[key]; !ok || g.Distance < d {
				least[key] = g.Distance
			}
		}
	}
	var out []string
	for key, d := range least {
		if d <= most {
			out = append(out, key)
		}
	}
	sort.Slice(out, func(i, j int) bool {
		return least[out[i]] < least[out[j]] || least[out[i]] == least[out[j]] && out[i] < out[j]
	})
	for i, key := range out {
		out[i] = key + " " + trim(least[key]*1e3, 3)
	}
	return out
}
