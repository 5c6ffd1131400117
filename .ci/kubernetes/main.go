// Command kubernetes reads YAML documents on standard input as Jobs of batch/v1,
// strictly: a field that the type does not have, or of another type, is an error.
package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"

	batch "k8s.io/api/batch/v1"
	"k8s.io/apimachinery/pkg/util/validation"
	"k8s.io/apimachinery/pkg/util/yaml"
	strict "sigs.k8s.io/yaml"
)

func main() {
	if err := check(os.Stdin); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func check(in io.Reader) error {
	documents := yaml.NewYAMLReader(bufio.NewReader(in))
	for n := 0; ; n++ {
		text, err := documents.Read()
		if errors.Is(err, io.EOF) {
			fmt.Println(n, "jobs")
			return nil
		} else if err != nil {
			return err
		}
		var job batch.Job
		if err := strict.UnmarshalStrict(text, &job); err != nil {
			return fmt.Errorf("document %d: %w", n+1, err)
		}
		if job.APIVersion != "batch/v1" || job.Kind != "Job" || len(job.Spec.Template.Spec.Containers) != 1 {
			return fmt.Errorf("document %d: %s %s with %d containers", n+1, job.APIVersion, job.Kind, len(job.Spec.Template.Spec.Containers))
		}
		if problems := validation.IsDNS1123Subdomain(job.Name); len(problems) > 0 {
			return fmt.Errorf("document %d: name %q: %v", n+1, job.Name, problems)
		}
		if job.Spec.CompletionMode != nil && *job.Spec.CompletionMode == batch.IndexedCompletion && (job.Spec.Completions == nil || job.Spec.Parallelism == nil) {
			return fmt.Errorf("document %d: an indexed job needs completions and parallelism", n+1)
		}
	}
}
