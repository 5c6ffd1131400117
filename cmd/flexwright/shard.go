package main

import (
	"os"
	"strconv"
	"strings"

	"flexwright/search"
)

// parseShard reads "I/N", or for "slurm" the part of an array job that the
// environment names.
func parseShard(text string) (search.Shard, error) {
	if text == "" {
		return search.Shard{}, nil
	}
	if text == "slurm" {
		return slurmShard(os.Getenv)
	}
	i, n, ok := strings.Cut(text, "/")
	a, errA := strconv.Atoi(i)
	b, errB := strconv.Atoi(n)
	if !ok || errA != nil || errB != nil || a < 1 || a > b {
		return search.Shard{}, refuse("--shard %s: expected I/N with 1 <= I <= N, such as 2/8, or slurm", text)
	}
	return search.Shard{I: a, N: b}, nil
}

// slurmShard numbers the tasks of an array job from 1, whatever its range and
// step.
func slurmShard(env func(string) string) (search.Shard, error) {
	number := func(name string) int {
		v, err := strconv.Atoi(env(name))
		if err != nil {
			return -1
		}
		return v
	}
	id, least, most, step := number("SLURM_ARRAY_TASK_ID"), number("SLURM_ARRAY_TASK_MIN"), number("SLURM_ARRAY_TASK_MAX"), number("SLURM_ARRAY_TASK_STEP")
	if step == -1 {
		step = 1
	}
	if id < 0 || least < 0 || most < least || step < 1 || (id-least)%step != 0 || id > most {
		return search.Shard{}, refuse("--shard slurm: this is no task of a regular array job (SLURM_ARRAY_TASK_ID, _MIN, _MAX, _STEP)")
	}
	return search.Shard{I: (id-least)/step + 1, N: (most-least)/step + 1}, nil
}
