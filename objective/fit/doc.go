// Package fit says what a built stage is from what was measured on it: how it differs
// from the model of its design, how sure that is, what the measurements cannot tell
// apart, which further one would tell most, and what it means for every measure.
package fit
