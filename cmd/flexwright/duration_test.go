package main

import (
	"testing"
	"time"
)

func TestDuration(t *testing.T) {
	for text, want := range map[string]time.Duration{
		"1d": 24 * time.Hour, "1d12h": 36 * time.Hour, "0.5d": 12 * time.Hour, "8h": 8 * time.Hour, "90m": 90 * time.Minute, "1h30m": 90 * time.Minute,
	} {
		var d duration
		if err := d.Set(text); err != nil || time.Duration(d) != want {
			t.Errorf("%s: %v, %v, want %v", text, time.Duration(d), err, want)
		}
	}
	for _, text := range []string{"", "d", "1", "1day", "1d5", "-1d", "1h1d", "NaNd", "8 h"} {
		d := duration(time.Hour)
		if err := d.Set(text); err == nil {
			t.Errorf("%q is accepted as %v", text, time.Duration(d))
		}
	}
}
