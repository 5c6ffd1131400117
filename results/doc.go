// Package results keeps runs: a folder with the brief, a manifest and every
// candidate as a row of Parquet files, written so that whatever happens the
// rows that were stored stay, and that a run which is taken up again gives the
// same rows as one that was never disturbed. FORMAT.md describes the folder.
//
// # Glossary
//
//   - run: what a brief, a seed, a shard, a program version and a platform determine ([Identity]).
//   - row: one proposed design with what became of it.
//   - part: a file of rows, some seconds of work. It is written once.
//   - replay: a run is taken up by asking its plan for everything from the beginning again
//     and answering from the stored rows as long as they last. There is no other state.
//
// # Writing
//
//	run, err := results.Start(dir, results.Description{...}) // new, or taken up
//	defer run.Close()
//	recorder := run.Recorder(results.Study{...})
//	by, err := recorder.Finish(plan.Run(ctx, recorder.Batch)) // stores what is left
//	if by != "" {
//		err = errors.Join(err, run.End(ctx, by, nil)) // candidates.parquet, front.parquet, manifest
//	}
//
// # Reading
//
//	folder, err := results.Open(dir) // running, stopped or ended
//	for row, err := range folder.Rows() { ... }
//	front, err := folder.Front(nil)
//
// Before a Parquet file is read the whole of it is compared with its checksum:
// a damaged file is an error, never wrong rows.
//
// # Errors
//
//   - [FolderError]: no run folder, or one that cannot be made here.
//   - [MismatchError]: the folder holds another run.
//   - [InUseError]: another process writes to it.
//   - [DamageError]: a file is not what was written, or of an unknown format.
//   - [ReadError]: the system could not read a file.
//   - [WriteError]: something cannot be written; what was stored stays.
//   - [StopError]: something but the plan ended the run.
package results
