#!/bin/bash
# {{.Tasks}} shards of {{.Brief}} as a Slurm array, and a join that waits for all of them.
{{- if .Title}}
# {{.Title}}
{{- end}}
# Written by flexwright {{.Version}}. Submit it from the folder of the brief, which all nodes must see:
#   bash FILE
# It may be submitted again at any time: shards that are finished end at once, others go on where they stopped.
# One or some alone:  sbatch --array=3,7 {{.Name}}.task.sh
set -euo pipefail
mkdir -p {{.Name}}.shards

cat > {{.Name}}.task.sh <<'TASK'
#!/bin/bash
#SBATCH --job-name={{.Name}}
#SBATCH --array=1-{{.Tasks}}
#SBATCH --cpus-per-task={{.CPUs}}
{{- if .TimeLimit}}
#SBATCH --time={{.TimeLimit}}
{{- end}}
{{- if .Partition}}
#SBATCH --partition={{.Partition}}
{{- end}}
# A task that is preempted, or whose node fails, is queued again and goes on in its folder.
#SBATCH --requeue
#SBATCH --open-mode=append
#SBATCH --output={{.Name}}.shards/%a.log
# Two minutes before the time limit the run is asked to stop; it needs seconds.
#SBATCH --signal=B:TERM@120
set -u
shard=$SLURM_ARRAY_TASK_ID
folder={{.Name}}.shards/$shard.run
stopped=
trap 'stopped=yes; kill -TERM "$run" 2> /dev/null' TERM
# "$shard/{{.Tasks}}" and not "slurm": a part of the array that is submitted again has other numbers.
"${FLEXWRIGHT:-flexwright}" run {{.Brief}} --shard "$shard/{{.Tasks}}" --out "$folder" \
  --workers "${SLURM_CPUS_PER_TASK:-1}"{{if .For}} --for {{.For}}{{end}}{{if .Islands}} --exchange {{.Name}}.exchange{{end}} > /dev/null &
run=$!
wait "$run"
status=$?
[ -z "$stopped" ] || { wait "$run"; status=$?; } # the first wait ended with the signal
# Status 3, no feasible design in this shard, is an answer. A shard that is not at the end of its plan
# is not done: the join then does not start, and submitting again goes on.
case $status in 0 | 3) ;; *) exit "$status" ;; esac
grep -q '"ended_by": "\(plan\|stagnation\|no_point_left\)"' "$folder/manifest.json" && exit 0
echo "shard $shard is not finished: submit it again"
exit 75
TASK

cat > {{.Name}}.join.sh <<'JOIN'
#!/bin/bash
#SBATCH --job-name={{.Name}}-join
{{- if .Partition}}
#SBATCH --partition={{.Partition}}
{{- end}}
#SBATCH --open-mode=append
#SBATCH --output={{.Name}}.shards/join.log
[ -e {{.Name}}.run/manifest.json ] && { echo "{{.Name}}.run is there already"; exit 0; }
exec "${FLEXWRIGHT:-flexwright}" join {{.Name}}.shards/*.run --out {{.Name}}.run
JOIN

array=$(sbatch --parsable {{.Name}}.task.sh)
join=$(sbatch --parsable --dependency="afterok:${array%%;*}" --kill-on-invalid-dep=yes {{.Name}}.join.sh)
echo "shards: job ${array%%;*}, join: job ${join%%;*}; the result will be {{.Name}}.run"
