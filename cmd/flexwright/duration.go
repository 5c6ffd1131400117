package main

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// duration is a flag's time that may be given in days too, alone or before
// smaller units: 1d, 1d12h, 90m.
type duration time.Duration

func (d *duration) String() string { return time.Duration(*d).String() }

func (d *duration) Type() string { return "duration" }

func (d *duration) Set(text string) error {
	var total time.Duration
	rest := text
	if text == "" {
		return fmt.Errorf("expected a time such as 90m, 8h, 1d or 1d12h")
	}
	if days, after, ok := strings.Cut(text, "d"); ok {
		n, err := strconv.ParseFloat(days, 64)
		if err != nil || !(n >= 0 && n <= 36500) {
			return fmt.Errorf("expected a time such as 90m, 8h, 1d or 1d12h")
		}
		total, rest = time.Duration(n*24*float64(time.Hour)), after
	}
	if rest != "" {
		t, err := time.ParseDuration(rest)
		if err != nil {
			return fmt.Errorf("expected a time such as 90m, 8h, 1d or 1d12h")
		}
		total += t
	}
	*d = duration(total)
	return nil
}
