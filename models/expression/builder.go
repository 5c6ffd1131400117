package expression

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Value is a compiled formula: the register that holds it, and its dimension.
type Value struct {
	Register int
	Powers   Powers
	Truth    bool // a comparison: 1 or 0
	zero     bool // a 0 without unit, which fits every dimension
	broken   bool // refused: nothing more is said about what it is part of
}

// Registers is the largest number of registers that a program has, inputs included:
// little enough for callers to keep them on the stack.
const Registers = 1024

type definition struct {
	name  string
	text  *Text
	state uint8 // 0: not looked at; 1: being compiled; 2: done
	value Value
	given bool // an input that its formula replaces where it is NaN
}

// Builder collects named values and formulas and makes one program of them. A
// value that several formulas compute alike is computed once.
type Builder struct {
	refuse  Refuse
	suggest func(text string, names []string) string
	names   map[string]*definition
	order   []*definition
	inputs  int
	consts  []float64
	code    []instruction
	origin  []origin
	known   map[key]int // register of an instruction or constant
	failed  bool
	open    []string // names being compiled, outermost first
}

type key struct {
	instruction
	constant uint64
	is       bool // a constant
}

// NewBuilder returns an empty builder of a program with so many inputs. refuse
// hears of every problem; suggest ends the sentence about an unknown name (": did
// you mean …?", or nothing).
func NewBuilder(inputs int, refuse Refuse, suggest func(text string, names []string) string) *Builder {
	b := &Builder{suggest: suggest, names: map[string]*definition{}, inputs: inputs, known: map[key]int{}}
	b.refuse = func(t *Text, offset int, accepted, message string) {
		b.failed = true
		refuse(t, offset, accepted, message)
	}
	return b
}

// Input names an input register. An input with a rule has the rule's value where
// it is NaN, everywhere but in the register itself.
func (b *Builder) Input(name string, register int, p Powers, rule *Text) {
	d := &definition{name: name, state: 2, value: Value{Register: register, Powers: p}}
	if rule != nil {
		d.text, d.state, d.given = rule, 0, true
	}
	b.names[name] = d
	b.order = append(b.order, d)
}

// Define names a formula.
func (b *Builder) Define(name string, t *Text) {
	d := &definition{name: name, text: t}
	b.names[name] = d
	b.order = append(b.order, d)
}

// Refused takes a name whose value was refused elsewhere: formulas that use it are
// not refused again.
func (b *Builder) Refused(name string) {
	d := &definition{name: name, state: 2, value: broken}
	b.names[name] = d
	b.order = append(b.order, d)
}

// Named reports whether a name is taken.
func (b *Builder) Named(name string) bool { return b.names[name] != nil }

// Names in the order of their definition.
func (b *Builder) Names() []string {
	names := make([]string, len(b.order))
	for i, d := range b.order {
		names[i] = d.name
	}
	return names
}

// Value of a name; the name must be there.
func (b *Builder) Value(name string) Value {
	d := b.names[name]
	b.settle(d)
	return d.value
}

// settle compiles a definition, whatever it refers to first.
func (b *Builder) settle(d *definition) {
	if d.state == 2 {
		return
	}
	d.state = 1
	b.open = append(b.open, d.name)
	v := b.compile(d.text)
	b.open = b.open[:len(b.open)-1]
	d.state = 2
	if v.Truth && !v.broken {
		b.refuse(d.text, 0, "a number", d.name+" is a comparison, not a number")
		v.broken = true
	}
	if !d.given {
		d.value = v
		return
	}
	v = b.fit(v, d.value.Powers, d.text, 0, d.name)
	if !v.broken {
		d.value.Register = b.emit(instruction{op: opGiven, a: uint16(d.value.Register), b: uint16(v.Register)}, d.text, 0)
	}
	d.value.broken = v.broken
}

// fit demands a dimension.
func (b *Builder) fit(v Value, p Powers, t *Text, offset int, what string) Value {
	switch {
	case v.broken || v.zero && !v.Truth:
		v.Powers = p
	case v.Truth:
		b.refuse(t, offset, p.String(), what+" is a comparison, not "+p.String())
		v.broken = true
	case v.Powers != p:
		b.refuse(t, offset, p.String(), fmt.Sprintf("%s is %v, not %v", what, v.Powers, p))
		v.broken = true
	}
	v.zero = false
	return v
}

// Formula compiles a formula of a given dimension; what names it in a message.
func (b *Builder) Formula(t *Text, p Powers, what string) Value {
	return b.fit(b.compile(t), p, t, 0, what)
}

// Free compiles a formula of any dimension.
func (b *Builder) Free(t *Text) Value {
	v := b.compile(t)
	if v.Truth && !v.broken {
		b.refuse(t, 0, "a number", "a comparison where a number is wanted")
		v.broken = true
	}
	return v
}

// Settle compiles every named formula, so that all problems are found.
func (b *Builder) Settle() {
	for _, d := range b.order {
		b.settle(d)
	}
}

// OK reports whether nothing was refused.
func (b *Builder) OK() bool { return !b.failed }

// Program returns everything compiled so far. It must not be asked for when
// something was refused.
func (b *Builder) Program() *Program {
	if b.failed {
		panic("expression: a program with problems")
	}
	// Results were numbered behind an open number of constants: close the gap.
	shift := func(r uint16) uint16 {
		if int(r) >= firstResult {
			return r - uint16(firstResult-b.inputs-len(b.consts))
		}
		return r
	}
	p := &Program{inputs: b.inputs, constants: slices.Clone(b.consts), code: slices.Clone(b.code), origin: slices.Clone(b.origin)}
	for i := range p.code {
		n := &p.code[i]
		n.a, n.b, n.c = shift(n.a), shift(n.b), shift(n.c)
	}
	return p
}

// Register of a value in the program.
func (b *Builder) Register(v Value) int {
	if v.Register >= firstResult {
		return v.Register - firstResult + b.inputs + len(b.consts)
	}
	return v.Register
}

// firstResult is where results are numbered from while constants are still added.
const firstResult = 1 << 15

func (b *Builder) constant(v float64) int {
	k := key{constant: math.Float64bits(v), is: true}
	if r, ok := b.known[k]; ok {
		return r
	}
	r := b.inputs + len(b.consts)
	b.consts = append(b.consts, v)
	b.known[k] = r
	return r
}

// fixed returns the value of a constant register.
func (b *Builder) fixed(r int) (float64, bool) {
	if i := r - b.inputs; i >= 0 && i < len(b.consts) {
		return b.consts[i], true
	}
	return 0, false
}

// emit appends an instruction, unless its result is known already.
func (b *Builder) emit(n instruction, t *Text, offset int) int {
	constant := true
	var values [3]float64
	for k, r := range [3]uint16{n.a, n.b, n.c} {
		if k < arity[n.op] {
			v, ok := b.fixed(int(r))
			values[k], constant = v, constant && ok
		}
	}
	if constant {
		if v := n.apply(values[0], values[1], values[2]); v-v == 0 {
			return b.constant(v)
		}
	}
	k := key{instruction: n}
	if r, ok := b.known[k]; ok {
		return r
	}
	if b.inputs+len(b.consts)+len(b.code) >= Registers {
		if !b.failed {
			b.refuse(t, offset, fmt.Sprintf("formulas with at most %d different operations in all", Registers), "the formulas of the file are too many")
		}
		return b.constant(0)
	}
	r := firstResult + len(b.code)
	b.code = append(b.code, n)
	b.origin = append(b.origin, origin{t, offset})
	b.known[k] = r
	return r
}

// cycle describes how a name that is being compiled comes to depend on itself.
func (b *Builder) cycle(name string) string {
	from := slices.Index(b.open, name)
	return strings.Join(append(slices.Clone(b.open[from:]), name), " needs ")
}

// Reserved reports whether a name has a meaning of its own in formulas.
func Reserved(name string) bool { return name == "if" || functions[name] != nil }
