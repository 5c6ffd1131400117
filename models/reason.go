package models

import (
	"fmt"
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
