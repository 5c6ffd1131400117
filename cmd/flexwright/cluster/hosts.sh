#!/bin/bash
# {{.Tasks}} shards of {{.Brief}} on hosts reached by a remote shell, and a join at the end.
{{- if .Title}}
# {{.Title}}
{{- end}}
# Written by flexwright {{.Version}}. Start it in the folder of the brief, which all hosts must see under the same path:
#   bash FILE
# It may be started again at any time: shards that are finished end at once, others go on where they stopped.
# Interrupting it leaves the shards running; REMOTE is the remote shell, FLEXWRIGHT the program there.
set -uo pipefail
hosts=({{range $i, $h := .Hosts}}{{if $i}} {{end}}{{$h}}{{end}})
mkdir -p {{.Name}}.shards

# one HOST SHARD...: the shards of one host, one after the other.
one() {
  local host=$1 shard status worst=0
  shift
  for shard in "$@"; do
    ${REMOTE:-ssh} "$host" "cd $(printf %q "$PWD") && ${FLEXWRIGHT:-flexwright} run $(printf %q {{.Brief}}) --shard $shard/{{.Tasks}} --out {{.Name}}.shards/$shard.run --workers {{.CPUs}}{{if .For}} --for {{.For}}{{end}}{{if .Islands}} --exchange {{.Name}}.exchange{{end}}" \
      > /dev/null 2>> "{{.Name}}.shards/$shard.log"
    status=$?
    # Status 3, no feasible design in this shard, is an answer.
    case $status in 0 | 3) ;; *) worst=$status; echo "shard $shard on $host: status $status, see {{.Name}}.shards/$shard.log" >&2 ;; esac
  done
  return "$worst"
}

{{if .Islands -}}
# Islands wait for one another, so all run at the same time.
jobs=()
for ((i = 0; i < {{.Tasks}}; i++)); do
  one "${hosts[i % ${#hosts[@]}]}" $((i + 1)) &
  jobs+=($!)
done
{{else -}}
jobs=()
for ((h = 0; h < ${#hosts[@]}; h++)); do
  list=()
  for ((i = h; i < {{.Tasks}}; i += ${#hosts[@]})); do list+=($((i + 1))); done
  one "${hosts[h]}" "${list[@]}" &
  jobs+=($!)
done
{{end -}}
failed=0
for job in "${jobs[@]}"; do wait "$job" || failed=1; done
[ "$failed" = 0 ] || { echo "some shards failed: start this again to go on" >&2; exit 1; }
[ -e {{.Name}}.run/manifest.json ] && { echo "{{.Name}}.run is there already"; exit 0; }
exec "${FLEXWRIGHT:-flexwright}" join {{.Name}}.shards/*.run --out {{.Name}}.run
