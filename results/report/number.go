package report

import (
	"math"
	"strconv"
	"strings"

	"flexwright/results"
)

// label is a name as text: first_frequency is "first frequency".
func label(name string) string { return strings.ReplaceAll(name, "_", " ") }

// number writes v for people: four significant digits, no trailing zeros.
func number(v float64) string { return digits(v, 4) }

func digits(v float64, significant int) string {
	a := math.Abs(v)
	if a < results.Nothing {
		a, v = 0, 0
	}
	switch {
	case math.IsNaN(v):
		return "–"
	case math.IsInf(v, 0):
		return strings.ReplaceAll(strconv.FormatFloat(v, 'g', -1, 64), "Inf", "∞")
	case a != 0 && (a < 1e-4 || a >= 1e6):
		mantissa, exponent, _ := strings.Cut(strconv.FormatFloat(v, 'e', significant-1, 64), "e")
		n, _ := strconv.Atoi(exponent)
		return minus(trimZeros(mantissa) + "e" + strconv.Itoa(n))
	}
	decimals := 0
	if a > 0 {
		decimals = max(0, significant-1-int(math.Floor(math.Log10(a))))
	}
	return minus(trimZeros(strconv.FormatFloat(v, 'f', decimals, 64)))
}

func minus(s string) string {
	if s == "-0" {
		return "0"
	}
	return strings.Replace(s, "-", "−", 1)
}

func trimZeros(s string) string {
	if !strings.Contains(s, ".") {
		return s
	}
	return strings.TrimRight(strings.TrimRight(s, "0"), ".")
}

// quantity is a number with its unit.
func quantity(v float64, unit string) string {
	if unit == "" {
		return number(v)
	}
	return number(v) + " " + unit
}

// count writes a whole number with thin spaces between thousands.
func count(n int64) string {
	s := strconv.FormatInt(n, 10)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "\u202f" + s[i:]
	}
	return s
}

// share writes n of total in per cent.
func share(n, total int64) string {
	if total == 0 {
		return "–"
	}
	p := 100 * float64(n) / float64(total)
	switch {
	case n > 0 && p < 0.1:
		return "under 0.1\u202f%"
	case p > 0 && p < 10:
		return strconv.FormatFloat(p, 'f', 1, 64) + "\u202f%"
	}
	return strconv.FormatFloat(p, 'f', 0, 64) + "\u202f%"
}

// list joins words: a, b and c.
func list(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// unbroken keeps a unit on one line.
func unbroken(s string) string { return strings.ReplaceAll(s, " ", "\u00a0") }
