package main

import (
	"os"
	"strconv"
	"strings"

	"flexwright/search"
)

// parseShard reads "I/N", or for "slurm" the part of an array job that the
// environment names; "slurm/N" is the array's task I, from 1, of N.
func parseShard(text string) (search.Shard, error) {
	if text == "" {
		return search.Shard{}, nil
	}
	if text == "slurm" {
		return slurmShard(os.Getenv)
	}
	i, n, ok := strings.Cut(text, "/")
	if i == "slurm" {
		i = os.Getenv("SLURM_ARRAY_TASK_ID")
		if i == "" {
			return search.Shard{}, refuse("--shard %s: this is no task of an array job (SLURM_ARRAY_TASK_ID is not set)", text)
		}
	}
	a, errA := strconv.Atoi(i)
	b, errB := strconv.Atoi(n)
	switch {
	case !ok || errA != nil || errB != nil || b < 1:
		return search.Shard{}, refuse("--shard %s: expected I/N with 1 <= I <= N, such as 2/8, or slurm, or slurm/8", text)
	case a < 1 || a > b:
		return search.Shard{}, refuse("--shard %s: %d is not from 1 to %d", text, a, b)
	}
	return search.Shard{I: a, N: b}, nil
}

// slurmShard numbers the tasks of an array job from 1, whatever its range and
// step. An array with gaps, as of a resubmission of some tasks, is refused: its numbers do not
// say of how many shards they are.
func slurmShard(env func(string) string) (search.Shard, error) {
	number := func(name string, absent int) int {
		text := env(name)
		if text == "" {
			return absent
		}
		v, err := strconv.Atoi(text)
		if err != nil {
			return -1
		}
		return v
	}
	id, least, most := number("SLURM_ARRAY_TASK_ID", -1), number("SLURM_ARRAY_TASK_MIN", -1), number("SLURM_ARRAY_TASK_MAX", -1)
	step := number("SLURM_ARRAY_TASK_STEP", 1)
	if id < 0 || least < 0 || most < least || step < 1 || id < least || id > most {
		return search.Shard{}, refuse("--shard slurm: this is no task of an array job (SLURM_ARRAY_TASK_ID, _MIN, _MAX, _STEP)")
	}
	n := (most-least)/step + 1
	count := number("SLURM_ARRAY_TASK_COUNT", n)
	if (id-least)%step != 0 || (most-least)%step != 0 || count != n {
		return search.Shard{}, refuse("--shard slurm: the array has gaps (%d tasks from %d to %d), so its numbers do not say which shard of how many this is\n"+
			"where the tasks of the whole array were 1 to N, resubmit some of them with --shard slurm/N: sbatch --array=3,7 with --shard slurm/8 runs 3/8 and 7/8", count, least, most)
	}
	return search.Shard{I: (id-least)/step + 1, N: n}, nil
}
