package configs

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"strconv"
	"strings"

	"flexwright/models"
)

// Quantity is a number with its unit, converted once to the unit in which it is
// used. The conversion is done on decimals, so that 5 µm, 0.005 mm and 5e-6 m
// are the same double, and 48 mm is 48 in millimetres bit for bit.
type Quantity struct {
	Value float64 // in the unit asked for
	exact *big.Rat
	place
}

// ParseQuantity reads a number with its unit, as a brief writes it, into u.
// Errors say what is wrong and what would be accepted.
func ParseQuantity(text string, u models.Unit) (float64, error) {
	q, message, accepted := parseQuantity(text, u)
	if message != "" {
		return 0, fmt.Errorf("%s (accepted: %s)", message, accepted)
	}
	return q.Value, nil
}

// FormatQuantity writes v, in u, as a brief does. Reading it back gives v bit
// for bit.
func FormatQuantity(v float64, u models.Unit) string {
	return withUnit(decimal(v), u.Symbol)
}

func withUnit(number, symbol string) string {
	if symbol == "" {
		return number
	}
	return number + " " + symbol
}

// decimal writes the shortest decimal that reads back as v.
func decimal(v float64) string {
	if a := math.Abs(v); a != 0 && (a < 1e-6 || a >= 1e15) {
		return strconv.FormatFloat(v, 'e', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// longestNumber and largestExponent bound the work of exact conversion, far
// beyond what a double tells apart.
const (
	longestNumber   = 60
	largestExponent = 330
)

// parseQuantity returns a message and what would be accepted when it fails.
func parseQuantity(text string, u models.Unit) (q Quantity, message, accepted string) {
	text = strings.TrimSpace(text)
	number, symbol, err := splitQuantity(text)
	accepted = acceptedQuantity(number, u)
	if err != nil {
		return q, fmt.Sprintf("%s: %v", show(text), err), accepted
	}
	value, ok := new(big.Rat).SetString(number)
	if !ok {
		return q, fmt.Sprintf("%s is no number", show(text)), accepted
	}
	if symbol == "" && u.Dimension != models.Number {
		return q, fmt.Sprintf("%s has no unit", show(text)), accepted
	}
	unit, found := findUnit(symbol, u.Dimension)
	if !found || unit.dimension != u.Dimension {
		// The number belongs to another unit: no example may carry it over.
		accepted = acceptedQuantity("", u)
		if text := converted(value, symbol, u); text != "" {
			accepted = fmt.Sprintf("%s; %s %s = %s", withUnits(u.Dimension), number, symbol, text)
		}
	}
	switch {
	case !found && u.Dimension == models.Number:
		return q, fmt.Sprintf("%s: a plain number is wanted, not one in %s", show(text), show(symbol)), accepted
	case !found:
		return q, fmt.Sprintf("%s is no unit%s", show(symbol), DidYouMean(symbol, symbols(u.Dimension))), accepted
	case unit.dimension != u.Dimension:
		return q, fmt.Sprintf("%s is %s, not %s", show(text), writable[unit.dimension].noun, writable[u.Dimension].noun), accepted
	}
	value.Mul(value, unit.si)
	value.Quo(value, exact(u.SI))
	q.exact = value
	q.Value, _ = value.Float64()
	if math.IsInf(q.Value, 0) || q.Value == 0 && value.Sign() != 0 {
		return q, fmt.Sprintf("%s is beyond what a double holds", show(text)), accepted
	}
	return q, "", ""
}

// acceptedQuantity describes a quantity in u, with the number that was written
// or, where that belongs to another unit and is left out, another.
func acceptedQuantity(number string, u models.Unit) string {
	if number == "" {
		number = "1.5"
	}
	if u.Dimension == models.Number {
		return "a plain number such as " + number
	}
	return withUnits(u.Dimension) + ", such as " + withUnit(number, u.Symbol)
}

// withUnits names a dimension and its units.
func withUnits(d models.Dimension) string {
	return writable[d].noun + " with its unit (" + strings.Join(symbols(d), ", ") + ")"
}

// splitQuantity parts a text into a number of our grammar,
// [+-] digits [. digits] [e [+-] digits], and the rest, its unit. Spellings that
// YAML readers disagree about (010, 1_000, 0x10, .inf) are refused.
func splitQuantity(text string) (number, symbol string, err error) {
	i := 0
	digits := func() int {
		from := i
		for i < len(text) && text[i] >= '0' && text[i] <= '9' {
			i++
		}
		return i - from
	}
	if i < len(text) && (text[i] == '+' || text[i] == '-') {
		i++
	}
	start := i
	whole, fraction := digits(), 0
	if i < len(text) && text[i] == '.' {
		i++
		fraction = digits()
	}
	if whole+fraction == 0 {
		word := strings.ToLower(strings.TrimLeft(text, "+-."))
		if strings.HasPrefix(word, "inf") || strings.HasPrefix(word, "nan") {
			return "", "", errors.New("a finite number is wanted")
		}
		return "", "", errors.New("a quantity begins with a number")
	}
	mantissa := i
	if i < len(text) && (text[i] == 'e' || text[i] == 'E') {
		back := i
		i++
		if i < len(text) && (text[i] == '+' || text[i] == '-') {
			i++
		}
		if n := digits(); n == 0 {
			i = back // the e begins a unit
		} else if exponent, err := strconv.Atoi(text[back+1 : i]); err != nil || exponent > largestExponent || exponent < -largestExponent {
			return "", "", errors.New("the exponent is beyond what a double holds")
		}
	}
	number, symbol = text[:i], strings.TrimSpace(text[i:])
	if whole > 1 && text[start] == '0' {
		return strings.TrimLeft(number, "+-0"), "", errors.New("a leading zero may mean octal")
	}
	if i-start > longestNumber {
		return "", "", fmt.Errorf("more than %d digits", longestNumber)
	}
	if symbol == "" {
		return number, "", nil
	}
	switch c := symbol[0]; {
	case c == '_':
		return number + leadingDigits(strings.ReplaceAll(symbol, "_", "")), "", errors.New("digits are not grouped by _")
	case c == ',' && i == mantissa:
		return number + "." + leadingDigits(symbol[1:]), "", errors.New("a decimal point is wanted, not a comma")
	case strings.ContainsRune("xob", rune(c)) && text[start:i] == "0" && len(symbol) > 1:
		return "", "", errors.New("a decimal number is wanted")
	}
	return number, symbol, nil
}

func leadingDigits(text string) string {
	return text[:len(text)-len(strings.TrimLeft(text, "0123456789"))]
}

// scale writes v, in u, in another unit of its dimension, exactly; in u itself
// where that has no finite decimal.
func scale(v float64, u models.Unit, symbol string) string {
	unit, ok := findUnit(symbol, u.Dimension)
	if !ok || unit.dimension != u.Dimension {
		panic("configs: no such unit of this dimension")
	}
	value := exact(v)
	value.Mul(value, exact(u.SI))
	value.Quo(value, unit.si)
	for places := 0; places <= 40; places++ {
		text := value.FloatString(places)
		if back, ok := new(big.Rat).SetString(text); ok && back.Cmp(value) == 0 {
			return withUnit(text, symbol)
		}
	}
	return FormatQuantity(v, u)
}
