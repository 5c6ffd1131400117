package models

import (
	"fmt"
	"math"
	"regexp"
	"strings"
)

// Reason returns the sentence that explains a verdict, empty when it is solved.
// Formats index their arguments, so that fmt takes one that is not used for
// granted; a format without verbs is the sentence.
func (v Verdict) Reason() string {
	if v.Format == "" {
		return ""
	}
	if !strings.Contains(v.Format, "%") {
		return v.Format
	}
	var index any = v.Index
	if v.Blades != nil {
		index = v.Blades.BladeName(v.Index)
	}
	return fmt.Sprintf(v.Format, index, v.Value, v.Bound)
}

// Placeholders of [Verdict.Phrase].
const (
	PlaceAt    = "{at}"
	PlaceValue = "{value}"
	PlaceBound = "{bound}"
)

// verb is one that [Verdict.Format] may have: its index, and what it formats with.
var verb = regexp.MustCompile(`%%|%([.0-9]*)\[([123])\]([a-z])`)

// Phrase returns the reason without its numbers and names, {at}, {value} and {bound} in
// their places: the same for all that fail alike.
func (v Verdict) Phrase() string {
	if !strings.Contains(v.Format, "%") {
		return v.Format
	}
	return verb.ReplaceAllStringFunc(v.Format, func(s string) string {
		switch {
		case s == "%%":
			return "%"
		case strings.Contains(s, "[1]"):
			return PlaceAt
		case strings.Contains(s, "[2]"):
			return PlaceValue
		}
		return PlaceBound
	})
}

// Details returns what stands in the places of [Verdict.Phrase]: the name of a blade or
// the number of a body or pose, and two numbers; empty or NaN where it has no such place.
func (v Verdict) Details() (at string, value, bound float64) {
	value, bound = math.NaN(), math.NaN()
	if strings.Contains(v.Format, "[1]") {
		at = fmt.Sprint(v.Index)
		if v.Blades != nil {
			at = v.Blades.BladeName(v.Index)
		}
	}
	if strings.Contains(v.Format, "[2]") {
		value = v.Value
	}
	if strings.Contains(v.Format, "[3]") {
		bound = v.Bound
	}
	return at, value, bound
}
