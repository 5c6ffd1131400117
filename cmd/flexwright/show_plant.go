package main

import (
	"encoding/json"
	"fmt"

	"flexwright/models/servo"
	"flexwright/objective"
	"flexwright/results"
)

// writePlant writes what was asked for of the loop's plant; nothing where no file is named.
func writePlant(d *objective.Detail, plant, response string) error {
	if plant == "" && response == "" {
		return nil
	}
	x, ok := d.Plant()
	if !ok {
		return &exitError{exitNo, fmt.Errorf("there is no loop to write: no crossover holds")}
	}
	if plant != "" {
		text, err := json.MarshalIndent(x, "", " ")
		if err != nil {
			return err
		}
		if err := results.WriteFile(plant, writes(append(text, '\n'))); err != nil {
			return err
		}
	}
	if response == "" {
		return nil
	}
	return results.WriteResponses(response, responses(&x))
}

// responses are those of every sensor, pose by pose, from 0.1 Hz to half the sample rate.
func responses(x *servo.Export) (rows []results.ResponseRow) {
	for i := range x.Poses {
		p := &x.Poses[i]
		if p.Payload != nil {
			break
		}
		at := objective.ResponseFrequencies(p, 0.1, 0.5/x.Controllers[0].Discrete.Sample, 400)
		for axis, name := range []string{"x", "y"}[:len(x.Controllers)] {
			for k, output := range [][][]float64{p.Encoder, p.Stage, p.Gap} {
				for _, hz := range at {
					v := p.Response(output, axis, hz)
					rows = append(rows, results.ResponseRow{Pose: int32(i), XM: p.X, YM: p.Y, Axis: name,
						Sensor: []string{"encoder", "stage", "gap"}[k], Hz: hz, Real: real(v), Imaginary: imag(v)})
				}
			}
		}
	}
	return rows
}
