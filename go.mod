module flexwright

go 1.26
