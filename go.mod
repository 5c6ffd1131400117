module flexwright

go 1.26

require (
	github.com/MaxHalford/eaopt v0.4.2
	github.com/goccy/go-yaml v1.19.2
)

require golang.org/x/sync v0.12.0 // indirect

require gonum.org/v1/gonum v0.17.0
