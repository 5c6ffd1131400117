//go:build outside

package main

import (
	"os/exec"
	"strings"
	"testing"
)

// The Jobs that cluster prints are Jobs to the types of the Kubernetes interface (k8s.io/api), strictly.
func TestKubernetesJobs(t *testing.T) {
	for _, args := range [][]string{{"--time", "2h"}, {"--cpus", "4", "--claim", "shared"}} {
		code, jobs, messages := command(t, append([]string{"cluster", writeBrief(t, t.TempDir()), "--for", "kubernetes", "--tasks", "64", "--image", "registry.example/flexwright:1"}, args...)...)
		if code != exitDone {
			t.Fatal(code, messages)
		}
		for text, good := range map[string]bool{jobs: true, strings.Replace(jobs, "completionMode", "completionsMode", 1): false, strings.Replace(jobs, "completions: 64", "completions: many", 1): false} {
			cmd := exec.Command("go", "run", ".")
			cmd.Dir, cmd.Stdin = "../../.ci/kubernetes", strings.NewReader(text)
			if out, err := cmd.CombinedOutput(); (err == nil) != good || good && string(out) != "2 jobs\n" {
				t.Errorf("%v\n%s\n%s", err, out, text)
			}
		}
	}
}
