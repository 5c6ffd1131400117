package objective

import (
	"math"
	"reflect"
	"testing"
	"unsafe"

	"flexwright/models"
	"flexwright/models/dense"
	"flexwright/models/drive"
	"flexwright/models/mechanics"
	"flexwright/models/servo"
)

// constant types hold what is the same for every candidate.
var constant = map[reflect.Type]bool{
	reflect.TypeFor[Spec](): true, reflect.TypeFor[LoopSpec](): true, reflect.TypeFor[DriveSpec](): true, reflect.TypeFor[Want](): true, reflect.TypeFor[ToleranceSpec](): true,
	reflect.TypeFor[models.Topology](): true, reflect.TypeFor[models.Material](): true,
	reflect.TypeFor[mechanics.Model](): true, reflect.TypeFor[mechanics.Subdivision](): true, reflect.TypeFor[dense.Pattern](): true,
	reflect.TypeFor[servo.Settings](): true, reflect.TypeFor[servo.Disturbances](): true,
	reflect.TypeFor[drive.Actuator](): true, reflect.TypeFor[drive.Program](): true,
}

// settings are the fields of scratch memory that are set once, when it is made.
var settings = map[string]bool{
	"Dynamics.Point": true, "Bench.damping": true, "Bench.constant": true,
	"Loop.limit2": true, "Loop.spread": true, "Loop.shapeBounds": true, "tried.shape": true, "tried.bounds": true, "loopCase.scale": true, "ladder.wc": true, "ladder.per": true,
	"response.zeta": true, "response.brake": true, "response.from": true, "response.to": true,
	"modeBends.root": true, "modeBends.lag": true, "Load.Scales": true,
}

// poison fills every number that a candidate may leave behind with NaN: of bench,
// mechanics, loop and drive, however deep it lies. It returns how many it found.
func poison(e *Evaluation) int {
	n := 0
	seen := map[unsafe.Pointer]bool{}
	for i := range e.bench {
		n += poisonValue(reflect.ValueOf(e.bench[i]), seen)
		n += poisonValue(reflect.ValueOf(e.stage[i]), seen)
	}
	return n
}

func poisonValue(v reflect.Value, seen map[unsafe.Pointer]bool) (n int) {
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() || seen[v.UnsafePointer()] || constant[v.Type().Elem()] {
			return 0
		}
		seen[v.UnsafePointer()] = true
		return poisonValue(v.Elem(), seen)
	case reflect.Struct:
		if constant[v.Type()] {
			return 0
		}
		for i := range v.NumField() {
			if !settings[v.Type().Name()+"."+v.Type().Field(i).Name] {
				n += poisonValue(v.Field(i), seen)
			}
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			n += poisonValue(v.Index(i), seen)
		}
	case reflect.Float64, reflect.Complex128:
		if !v.CanAddr() {
			return 0
		}
		v = reflect.NewAt(v.Type(), unsafe.Pointer(v.UnsafeAddr())).Elem()
		if v.Kind() == reflect.Float64 {
			v.SetFloat(math.NaN())
		} else {
			v.SetComplex(complex(math.NaN(), math.NaN()))
		}
		return 1
	}
	return n
}

// The poison reaches the memory of every part.
func TestPoisonReaches(t *testing.T) {
	e := NewEvaluation(loopSpec(t))
	e.Evaluate([]float64{60, 0.5, 20, 4})
	b := e.Bench()
	n := poison(e)
	t.Logf("%d numbers", n)
	for name, v := range map[string]float64{
		"statics": b.scratch.Poses[8].Q[3], "modes": b.dynamics.Modes[3].Omega[2], "plants": b.loop.plants[0].Omega[5],
		"loop": b.loop.result.Hz, "duty": b.duty.numbers.PeakForce[1], "field": b.duty.load.Field.Force[0][3], "stage": e.Stage().Mass[2],
	} {
		if !math.IsNaN(v) {
			t.Errorf("%s holds %g", name, v)
		}
	}
}
