package expression

import (
	"fmt"
	"go/ast"
	"go/token"
	"maps"
	"slices"
	"strings"
)

var broken = Value{broken: true}

// scope of one formula while it is compiled.
type scope struct {
	*Builder
	tree
	text *Text
}

func (b *Builder) compile(t *Text) Value {
	parsed, ok := parse(t, b.refuse)
	if !ok {
		return broken
	}
	s := scope{b, parsed, t}
	return s.value(parsed.root)
}

func (s *scope) refuse(at ast.Node, accepted, format string, args ...any) Value {
	s.Builder.refuse(s.text, offsetOf(at), accepted, fmt.Sprintf(format, args...))
	return broken
}

func (s *scope) value(e ast.Expr) Value {
	switch e := e.(type) {
	case *ast.BasicLit:
		return s.number(e)
	case *ast.Ident:
		return s.name(e)
	case *ast.ParenExpr:
		return s.value(e.X)
	case *ast.UnaryExpr:
		return s.unary(e)
	case *ast.BinaryExpr:
		return s.binary(e)
	case *ast.CallExpr:
		return s.call(e)
	}
	return s.refuse(e, formula, "this has no place in a formula")
}

func (s *scope) number(e *ast.BasicLit) Value {
	u := s.units[offsetOf(e)]
	v, ok := literal(e.Value, u)
	if !ok || e.Kind != token.INT && e.Kind != token.FLOAT {
		return s.refuse(e, "a decimal number such as 1.5 or 2e-3", "%s is no decimal number", e.Value)
	}
	if v-v != 0 {
		return s.refuse(e, "a finite number", "%s is beyond what a double holds", e.Value)
	}
	return Value{Register: s.constant(v), Powers: u.powers, zero: v == 0 && u.powers == Powers{}}
}

func (s *scope) name(e *ast.Ident) Value {
	if e.Name == conditional {
		return s.refuse(e, "if(condition, a, b)", "if takes a condition and two values")
	}
	d := s.names[e.Name]
	if d == nil {
		accepted := s.Names()
		hint := ""
		switch _, isUnit := units[e.Name]; {
		case functions[e.Name] != nil:
			return s.refuse(e, e.Name+"(…)", "%s is a function", e.Name)
		case isUnit:
			hint = ": a unit stands behind a number"
		}
		if hint == "" {
			hint = s.suggest(e.Name, accepted)
		}
		return s.refuse(e, "a parameter or a derived quantity: "+strings.Join(accepted, ", "), "there is no %s%s", e.Name, hint)
	}
	if d.state == 1 {
		return s.refuse(e, "formulas that end in parameters", "%s", s.cycle(e.Name))
	}
	s.settle(d)
	return d.value
}

func (s *scope) unary(e *ast.UnaryExpr) Value {
	v := s.value(e.X)
	if v.broken {
		return v
	}
	switch e.Op {
	case token.SUB, token.ADD:
		if v.Truth {
			return s.refuse(e.X, "a number", "a comparison has no sign")
		}
		if e.Op == token.SUB {
			v.Register = s.emit(instruction{op: opNeg, a: uint16(v.Register)}, s.text, offsetOf(e))
		}
		return v
	case token.NOT:
		if !v.Truth {
			return s.refuse(e.X, "a comparison", "! is for comparisons")
		}
		v.Register = s.emit(instruction{op: opNot, a: uint16(v.Register)}, s.text, offsetOf(e))
		return v
	}
	return s.refuse(e, formula, "there is no operation %s", e.Op)
}

var binary = map[token.Token]opcode{
	token.ADD: opAdd, token.SUB: opSub, token.MUL: opMul, token.QUO: opDiv,
	token.LSS: opLess, token.LEQ: opLessEqual, token.GTR: opLess, token.GEQ: opLessEqual,
	token.EQL: opEqual, token.NEQ: opNotEqual, token.LAND: opAnd, token.LOR: opOr,
}

func (s *scope) binary(e *ast.BinaryExpr) Value {
	x, y := s.value(e.X), s.value(e.Y)
	op, ok := binary[e.Op]
	if !ok {
		hint := ""
		if e.Op == token.XOR {
			hint = ": write a power as a product"
		}
		s.Builder.refuse(s.text, int(e.OpPos)-1, formula, fmt.Sprintf("there is no operation %s%s", e.Op, hint))
		return broken
	}
	if x.broken || y.broken {
		return broken
	}
	at := int(e.OpPos) - 1
	fail := func(accepted, format string, args ...any) Value {
		s.Builder.refuse(s.text, at, accepted, fmt.Sprintf(format, args...))
		return broken
	}
	logical := op == opAnd || op == opOr
	if x.Truth != logical || y.Truth != logical {
		if logical {
			return fail("comparisons", "%s joins comparisons", e.Op)
		}
		return fail("numbers", "%s takes numbers, not comparisons", e.Op)
	}
	out := Value{Truth: logical}
	switch op {
	case opAnd, opOr:
	case opMul, opDiv:
		n := int8(1)
		if op == opDiv {
			n = -1
		}
		p, ok := x.Powers.times(y.Powers, n)
		if !ok {
			return fail("fewer factors", "the dimension has too high a power")
		}
		out.Powers = p
		out.zero = x.zero
	default:
		p, ok := common(x, y)
		if !ok {
			return fail(fmt.Sprintf("two of the same kind, such as %v and %v", x.Powers, x.Powers), "%s: %v and %v", verbs[e.Op], x.Powers, y.Powers)
		}
		out.Powers = p
		if out.Truth = op >= opLess && op <= opNotEqual; out.Truth {
			out.Powers = Powers{}
		}
	}
	if e.Op == token.GTR || e.Op == token.GEQ {
		x, y = y, x
	}
	out.Register = s.emit(instruction{op: op, a: uint16(x.Register), b: uint16(y.Register)}, s.text, at)
	return out
}

// verbs begin the sentence about two dimensions that do not fit.
var verbs = map[token.Token]string{
	token.ADD: "cannot add", token.SUB: "cannot subtract", token.LSS: "cannot compare", token.LEQ: "cannot compare",
	token.GTR: "cannot compare", token.GEQ: "cannot compare", token.EQL: "cannot compare", token.NEQ: "cannot compare",
}

// common dimension of two values.
func common(x, y Value) (Powers, bool) {
	switch {
	case x.zero:
		return y.Powers, true
	case y.zero:
		return x.Powers, true
	}
	return x.Powers, x.Powers == y.Powers
}

// function of a formula: how many values it takes, at most 0 for any number.
type function struct {
	least, most int
	form        string
	make        func(s *scope, e *ast.CallExpr, v []Value) Value
}

var functions map[string]*function

func init() { // the table refers to methods that refer to it
	angleIn := func(op opcode) func(*scope, *ast.CallExpr, []Value) Value {
		return func(s *scope, e *ast.CallExpr, v []Value) Value {
			x := s.fit(v[0], Powers{Radian: 1}, s.text, offsetOf(e.Args[0]), "what the function takes")
			if x.broken {
				return x
			}
			return Value{Register: s.emit(instruction{op: op, a: uint16(x.Register)}, s.text, offsetOf(e))}
		}
	}
	extreme := func(op opcode) func(*scope, *ast.CallExpr, []Value) Value {
		return func(s *scope, e *ast.CallExpr, v []Value) Value {
			out := v[0]
			for i, x := range v[1:] {
				p, ok := common(out, x)
				if !ok {
					return s.refuse(e.Args[i+1], out.Powers.String(), "cannot compare: %v and %v", out.Powers, x.Powers)
				}
				out = Value{Powers: p, Register: s.emit(instruction{op: op, a: uint16(out.Register), b: uint16(x.Register)}, s.text, offsetOf(e))}
			}
			return out
		}
	}
	functions = map[string]*function{
		"min": {2, 0, "min(a, b, …)", extreme(opMin)},
		"max": {2, 0, "max(a, b, …)", extreme(opMax)},
		"abs": {1, 1, "abs(a)", func(s *scope, e *ast.CallExpr, v []Value) Value {
			v[0].Register = s.emit(instruction{op: opAbs, a: uint16(v[0].Register)}, s.text, offsetOf(e))
			return v[0]
		}},
		"sqrt": {1, 1, "sqrt(a)", func(s *scope, e *ast.CallExpr, v []Value) Value {
			p, ok := v[0].Powers.root()
			if !ok {
				return s.refuse(e.Args[0], "an area, a plain number", "%v has no root", v[0].Powers)
			}
			return Value{Powers: p, Register: s.emit(instruction{op: opSqrt, a: uint16(v[0].Register)}, s.text, offsetOf(e))}
		}},
		"sin": {1, 1, "sin(angle)", angleIn(opSin)},
		"cos": {1, 1, "cos(angle)", angleIn(opCos)},
		"atan2": {2, 2, "atan2(y, x)", func(s *scope, e *ast.CallExpr, v []Value) Value {
			if _, ok := common(v[0], v[1]); !ok {
				return s.refuse(e.Args[1], v[0].Powers.String(), "the two sides of an angle: %v and %v", v[0].Powers, v[1].Powers)
			}
			return Value{Powers: Powers{Radian: 1}, Register: s.emit(instruction{op: opAtan2, a: uint16(v[0].Register), b: uint16(v[1].Register)}, s.text, offsetOf(e))}
		}},
		"fillet_stiffening": {1, 1, "fillet_stiffening(radius/thickness)", func(s *scope, e *ast.CallExpr, v []Value) Value {
			x := s.fit(v[0], Powers{}, s.text, offsetOf(e.Args[0]), "what the function takes")
			if x.broken {
				return x
			}
			return Value{Register: s.emit(instruction{op: opStiffening, a: uint16(x.Register)}, s.text, offsetOf(e))}
		}},
		conditional: {3, 3, "if(condition, a, b)", func(s *scope, e *ast.CallExpr, v []Value) Value {
			if !v[0].Truth {
				return s.refuse(e.Args[0], "a comparison such as a > b", "the condition of an if is %v", v[0].Powers)
			}
			p, ok := common(v[1], v[2])
			if !ok {
				return s.refuse(e.Args[2], v[1].Powers.String(), "the two values of an if: %v and %v", v[1].Powers, v[2].Powers)
			}
			return Value{Powers: p, zero: v[1].zero && v[2].zero,
				Register: s.emit(instruction{opSelect, uint16(v[0].Register), uint16(v[1].Register), uint16(v[2].Register)}, s.text, offsetOf(e))}
		}},
	}
}

func (s *scope) call(e *ast.CallExpr) Value {
	id, ok := e.Fun.(*ast.Ident)
	if !ok {
		return s.refuse(e, formula, "this has no place in a formula")
	}
	f := functions[id.Name]
	shown := strings.Replace(id.Name, conditional, "if", 1)
	values := make([]Value, len(e.Args))
	whole := true
	for i, a := range e.Args {
		values[i] = s.value(a)
		whole = whole && !values[i].broken
	}
	if f == nil {
		names := slices.Sorted(maps.Keys(functions))
		names[slices.Index(names, conditional)] = "if"
		return s.refuse(e, strings.Join(names, ", "), "there is no function %s%s", shown, s.suggest(shown, names))
	}
	if e.Ellipsis.IsValid() {
		return s.refuse(e, f.form, "this has no place in a formula")
	}
	if len(values) < f.least || f.most > 0 && len(values) > f.most {
		return s.refuse(e, f.form, "%s with %d values", shown, len(values))
	}
	for i, v := range values {
		if v.Truth && !v.broken && !(id.Name == conditional && i == 0) {
			s.refuse(e.Args[i], "a number", "%s of a comparison", shown)
			whole = false
		}
	}
	if !whole {
		return broken
	}
	return f.make(s, e, values)
}

// Condition is a comparison that has to hold.
type Condition struct {
	Left, Right Value
	op          token.Token
	whole       Value
}

// Condition compiles a comparison of two numbers, <=, >=, < or >.
func (b *Builder) Condition(t *Text) (c Condition, ok bool) {
	parsed, ok := parse(t, b.refuse)
	if !ok {
		return c, false
	}
	s := scope{b, parsed, t}
	root := parsed.root
	for {
		p, is := root.(*ast.ParenExpr)
		if !is {
			break
		}
		root = p.X
	}
	e, is := root.(*ast.BinaryExpr)
	if !is || !slices.Contains([]token.Token{token.LSS, token.LEQ, token.GTR, token.GEQ}, e.Op) {
		s.value(root)
		s.refuse(root, "one comparison: a >= b, a <= b, a > b or a < b", "this is not one comparison")
		return c, false
	}
	c.whole = s.binary(e)
	if c.whole.broken {
		return c, false
	}
	c.op, c.Left, c.Right = e.Op, s.value(e.X), s.value(e.Y)
	if c.Left.zero {
		c.Left.Powers = c.Right.Powers
	} else if c.Right.zero {
		c.Right.Powers = c.Left.Powers
	}
	return c, true
}

// AtLeast reports whether the left side must not be less than the right one; else
// it must not be more.
func (c *Condition) AtLeast() bool { return c.op == token.GEQ || c.op == token.GTR }
