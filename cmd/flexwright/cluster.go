package main

import (
	"bytes"
	_ "embed"
	"fmt"
	"path/filepath"
	"strings"
	"text/template"
	"time"

	"flexwright/configs"

	"github.com/spf13/cobra"
)

type clusterOptions struct {
	system    string
	tasks     int
	cpus      int
	limit     time.Duration
	partition string
	hosts     []string
	image     string
	claim     string
}

func newCluster(s streams) *cobra.Command {
	var o clusterOptions
	c := &cobra.Command{
		Use:   "cluster BRIEF",
		Short: "Print what runs a brief on many machines",
		Long: `Print a commented script that runs the shards of a brief on many machines and joins
them: for Slurm (an array and a join that waits for it), for hosts reached by a remote shell, or for
Kubernetes (an indexed Job). Sweeps are divided; an evolution becomes islands
that exchange members through a folder that all machines share. Every script may
be run again: finished shards cost a second, others go on where they stopped.`,
		Example: `  flexwright cluster stage.yaml --tasks 64 --time 8h --partition batch > stage.sh
  flexwright cluster stage.yaml --for hosts --hosts node1,node2 --tasks 8 > stage.sh
  flexwright cluster stage.yaml --for kubernetes --tasks 64 --image registry.example/flexwright > stage.job.yaml`,
		Args: exactly("BRIEF"),
		RunE: func(_ *cobra.Command, args []string) error { return runCluster(s, args[0], o) },
	}
	f := c.Flags()
	f.StringVar(&o.system, "for", "slurm", "`system`: slurm, hosts or kubernetes")
	f.IntVar(&o.tasks, "tasks", 0, "`number` of shards")
	f.IntVar(&o.cpus, "cpus", 1, "processors of each shard")
	f.Var((*duration)(&o.limit), "time", "time `limit` of a shard, such as 8h; Slurm's default otherwise")
	f.StringVar(&o.partition, "partition", "", "Slurm `partition`")
	f.StringSliceVar(&o.hosts, "hosts", nil, "`names` of hosts, divided by commas; each gets its part of the shards")
	f.StringVar(&o.image, "image", "", "container `image` with flexwright in it (kubernetes)")
	f.StringVar(&o.claim, "claim", "flexwright", "`name` of the persistent volume claim that all pods share (kubernetes)")
	return c
}

// clusterJob is what the scripts are made from. Texts are quoted for their place.
type clusterJob struct {
	Version, Brief, Name    string // Name is for files and jobs
	Title                   string // of the brief, one line
	Tasks, CPUs             int
	Islands                 bool
	TimeLimit, For          string // empty: none
	Partition, Image, Claim string
	Hosts                   []string
}

//go:embed cluster/slurm.sh
var slurmTemplate string

//go:embed cluster/hosts.sh
var hostsTemplate string

//go:embed cluster/kubernetes.yaml
var kubernetesTemplate string

func runCluster(s streams, path string, o clusterOptions) error {
	text, known := map[string]string{"slurm": slurmTemplate, "hosts": hostsTemplate, "kubernetes": kubernetesTemplate}[o.system]
	switch {
	case !known:
		return refuse("--for %s: slurm, hosts or kubernetes%s", o.system, configs.DidYouMean(o.system, []string{"slurm", "hosts", "kubernetes"}))
	case o.tasks < 1 || o.tasks > 1000000:
		return refuse("--tasks N is needed: the number of shards")
	case o.cpus < 1:
		return refuse("--cpus %d: at least 1", o.cpus)
	case o.system == "hosts" && len(o.hosts) == 0:
		return refuse("--for hosts needs --hosts NAME,NAME")
	case o.system == "kubernetes" && o.image == "":
		return refuse("--for kubernetes needs --image NAME")
	case o.limit != 0 && o.limit < 2*time.Minute:
		return refuse("--time %v: at least two minutes", o.limit)
	case path == "-":
		return refuse("the machines read the brief: give its file")
	case strings.Contains(path, "\n") || steersAny(path):
		return refuse("%q: a script cannot name this file", path)
	}
	brief, _, err := openBrief(s, path)
	if err != nil {
		return err
	}
	for _, name := range append([]string{o.partition, o.image, o.claim}, o.hosts...) {
		if strings.ContainsAny(name, " \t\n'\"\\$`;&|<>()") || steersAny(name) {
			return refuse("%q is no name of a partition, an image, a claim or a host", name)
		}
	}
	stem := strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
	j := clusterJob{Version: version, Brief: shellQuoted(atFile(path)), Name: fileName(stem), Title: strings.Join(strings.Fields(brief.Title()), " "),
		Tasks: o.tasks, CPUs: o.cpus, Islands: brief.Plan().Method == "evolve", Partition: o.partition, Hosts: o.hosts, Image: o.image, Claim: o.claim}
	if o.limit > 0 {
		// What is left of the limit ends the run in good order: storing, putting the files together.
		margin := min(max(o.limit/20, time.Minute), 15*time.Minute)
		j.For = fmt.Sprintf("%ds", int((o.limit - margin).Seconds()))
		minutes := int(o.limit.Minutes())
		j.TimeLimit = fmt.Sprintf("%d-%02d:%02d:00", minutes/1440, minutes/60%24, minutes%60)
		if o.system == "kubernetes" {
			j.TimeLimit = fmt.Sprint(int(o.limit.Seconds()))
		}
	}
	t, err := template.New(o.system).Parse(text)
	if err != nil {
		panic("flexwright: " + err.Error())
	}
	var b bytes.Buffer
	if err := t.Execute(&b, j); err != nil {
		panic("flexwright: " + err.Error())
	}
	_, err = s.out.Write(b.Bytes())
	return err
}

// atFile keeps the name of a file from being taken for a flag.
func atFile(path string) string {
	if strings.HasPrefix(path, "-") {
		return "./" + path
	}
	return path
}

// fileName is a name for files and jobs: small letters, digits and single dashes, as
// all three systems take it.
func fileName(text string) string {
	name := strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' {
			return r
		}
		return '-'
	}, strings.ToLower(text))
	words := strings.FieldsFunc(name, func(r rune) bool { return r == '-' })
	name = strings.Join(words, "-")
	if name = strings.Trim(name[:min(len(name), 40)], "-"); name == "" {
		return "stage"
	}
	return name
}
