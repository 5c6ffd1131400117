package bench

import (
	"context"
	"fmt"
	"testing"

	"flexwright/search"
	"flexwright/search/problems"
)

// BenchmarkOutside reports the processor time spent outside the evaluation, per
// candidate.
func BenchmarkOutside(b *testing.B) {
	for _, p := range []problems.Problem{problems.ZDT1(), problems.DTLZ2(), problems.OSY()} {
		for _, population := range []int{100, 400, 1600} {
			b.Run(fmt.Sprintf("%s/%d", p.Name, population), func(b *testing.B) {
				var sum float64
				for i := range b.N {
					s, err := play(context.Background(), &p, builtIn{&p}, 20*max(population, 500), uint64(i+1), search.EvolveOptions{Population: population})
					if err != nil {
						b.Fatal(err)
					}
					sum += s.cpuPerRow
				}
				b.ReportMetric(sum/float64(b.N), "µs/candidate")
			})
		}
	}
}
