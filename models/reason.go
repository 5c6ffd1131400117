package models

import (
	"fmt"
	"strings"
)

// Reason returns the sentence that explains a verdict, empty when it is solved.
func (v Verdict) Reason() string {
	if v.Format == "" {
		return ""
	}
	if !strings.Contains(v.Format, "%") {
		return v.Format
	}
	// A format need not use all three values.
	text := fmt.Sprintf(v.Format, v.Index, v.Value, v.Bound)
	if i := strings.Index(text, "%!(EXTRA"); i >= 0 {
		text = text[:i]
	}
	return text
}
