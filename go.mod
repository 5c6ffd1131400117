module flexwright

go 1.26

require (
	github.com/MaxHalford/eaopt v0.4.2
	github.com/goccy/go-yaml v1.19.2
)

require golang.org/x/sync v0.0.0-20201020160332-67f06af15bc9 // indirect
