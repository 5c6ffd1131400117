package main

import (
	"flexwright/models/drive"

	"github.com/spf13/cobra"
)

func newActuators(s streams) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "actuators [NAME...]",
		Short: "List the voice coils that a brief may name",
		Long: `List the voice coils that actuator.class of a brief may name, with their data.
They are generic, by size: of the order that makers' application notes and sheets
show, and no one maker's. class: own takes the figures of your sheet. Strokes
are total, end to end.`,
		Example: "  flexwright actuators\n  flexwright actuators vc-75 --json",
		Args:    known("actuator", actuatorNames),
		RunE: func(_ *cobra.Command, args []string) error {
			type actuator struct {
				Name              string  `json:"name"`
				MotorConstant     float64 `json:"motor_constant_n_per_rtw"`
				ForceConstant     float64 `json:"force_constant_n_per_a"`
				Resistance        float64 `json:"resistance_ohm"`
				Inductance        float64 `json:"inductance_h"`
				MaxVoltage        float64 `json:"max_voltage_v"`
				PeakForce         float64 `json:"peak_force_n"`
				ContinuousForce   float64 `json:"continuous_force_n"`
				Stroke            float64 `json:"stroke_m"`
				MovingMass        float64 `json:"moving_mass_kg"`
				FallOff           float64 `json:"force_fall_off"`
				ThermalResistance float64 `json:"thermal_resistance_k_per_w"`
				CoilLimit         float64 `json:"coil_limit_c"`
				Ambient           float64 `json:"ambient_c"`
				Clearance         float64 `json:"clearance_m"`
				Source            string  `json:"source"`
			}
			list := []actuator{}
			for i := range drive.Catalogue {
				a := &drive.Catalogue[i]
				if named(args, a.Name) {
					list = append(list, actuator{a.Name, a.MotorConstant, a.ForceConstant, a.Resistance(), a.Inductance, a.MaxVoltage, a.PeakForce,
						a.ContinuousForce(), a.Stroke, a.MovingMass, a.FallOff, a.ThermalResistance, a.CoilLimit, a.Ambient, a.Clearance, catalogueSource})
				}
			}
			if asJSON {
				return writeJSON(s.out, list)
			}
			t := newPageTable(append([]string{""}, names(list, func(a actuator) string { return a.Name })...)...)
			row := func(name string, value func(actuator) float64) {
				cells := []string{name}
				for _, a := range list {
					cells = append(cells, number(value(a)))
				}
				t.row(cells...)
			}
			row("peak force, N", func(a actuator) float64 { return a.PeakForce })
			row("continuous force, N", func(a actuator) float64 { return a.ContinuousForce })
			row("stroke, end to end, mm", func(a actuator) float64 { return a.Stroke * 1e3 })
			row("moving mass, kg", func(a actuator) float64 { return a.MovingMass })
			row("motor constant, N/√W", func(a actuator) float64 { return a.MotorConstant })
			row("force constant, N/A", func(a actuator) float64 { return a.ForceConstant })
			row("resistance, Ω", func(a actuator) float64 { return a.Resistance })
			row("inductance, mH", func(a actuator) float64 { return a.Inductance * 1e3 })
			row("largest voltage, V", func(a actuator) float64 { return a.MaxVoltage })
			row("loss of force at the ends, %", func(a actuator) float64 { return a.FallOff * 100 })
			row("coil to ambient, K/W", func(a actuator) float64 { return a.ThermalResistance })
			row("coil limit, °C", func(a actuator) float64 { return a.CoilLimit })
			row("clearance across, mm", func(a actuator) float64 { return a.Clearance * 1e3 })
			return t.write(s.out)
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON, SI units, with the source")
	return c
}

const catalogueSource = "generic: of the order that makers' application notes and sheets show; no one maker's"

func actuatorNames() []string {
	return names(drive.Catalogue, func(a drive.Actuator) string { return a.Name })
}
