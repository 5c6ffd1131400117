// Package drive says what moving the stage costs: force, voltage, power, heat, and
// the clearances and fatigue that go with a motion program.
//
//   - [Actuator]: a voice coil; [Catalogue] lists a few generic classes.
//   - [Motion], [Program]: circle, raster, hold, steps, sampled once for unit amplitude.
//   - [Field]: the static force over the travel, interpolated between the nine poses.
//   - [Program.Duty]: force history of a candidate, and what it means for the coil.
//   - [GapTravel], [ThermalDrift], [Goodman]: what else the motion asks for.
//
// # Units
//
// SI throughout; temperatures in °C where the name says Celsius, temperature rises in K.
//
// # Sources
//
// Motor constant Km = F/√P = Kf/√R, sizing by F_rms = √(ΣF²t/Σt): voice-coil makers'
// application notes, e.g. G. Gogue and J. Stupak, Voice-coil actuators. Resistance of
// copper + 0.393 %/K at 20 °C (IEC 60028). Goodman's line: R. E. Peterson, W. D.
// Pilkey, Peterson's Stress Concentration Factors, ch. 1.
package drive
