// Command flexwright searches dimensions of XY flexure stages: it reads a
// design brief, evaluates thousands to millions of candidates, and stores every
// candidate and the non-dominated ones as Parquet. See the README.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"flexwright/results"
)

// Exit statuses, the same for every verb.
const (
	exitDone     = 0
	exitFault    = 1
	exitRefused  = 2
	exitNo       = 3
	exitDamaged  = 4
	exitInUse    = 5
	exitNoWrite  = 6
	exitInt      = 130
	exitTerm     = 143
	exitMeanings = `EXIT STATUS
  0    done
  1    a fault of this program, or a system error not named below
  2    refused: arguments, brief, assembly, or a folder of another run;
       nothing was written
  3    done, but the answer is no: no feasible design; a pose that is not solved
  4    folder damaged or of an unknown format
  5    folder in use by another process
  6    cannot write (disk full, permission, size limit); stored rows are kept
  130  stopped by SIGINT, 143 by SIGTERM or SIGHUP, at a point from which run
       goes on`
)

// exitError ends the program with a status. Its error is printed unless nil.
type exitError struct {
	status int
	err    error
}

func (e *exitError) Error() string {
	if e.err == nil {
		return fmt.Sprintf("exit status %d", e.status)
	}
	return e.err.Error()
}

func (e *exitError) Unwrap() error { return e.err }

// refuse is an error of the user's input.
func refuse(format string, args ...any) error {
	return &exitError{exitRefused, fmt.Errorf(format, args...)}
}

// status maps an error to the exit status.
func status(err error) int {
	var exit *exitError
	var damage *results.DamageError
	var inUse *results.InUseError
	var mismatch *results.MismatchError
	var folder *results.FolderError
	var write *results.WriteError
	var file *os.PathError
	switch {
	case err == nil:
		return exitDone
	case errors.As(err, &exit):
		return exit.status
	case errors.As(err, &damage):
		return exitDamaged
	case errors.As(err, &inUse):
		return exitInUse
	case errors.As(err, &mismatch), errors.As(err, &folder), errors.As(err, new(*results.UnfinishedError)):
		return exitRefused
	case errors.As(err, &write), errors.As(err, &file) && file.Path == os.Stdout.Name():
		return exitNoWrite
	}
	return exitFault
}

// streams are what a verb reads and writes: results on out, messages on err.
type streams struct {
	in       io.Reader
	out, err io.Writer
}

func main() {
	os.Exit(start(context.Background(), os.Args[1:], streams{os.Stdin, os.Stdout, os.Stderr}))
}

// start runs the command line and returns the exit status.
func start(ctx context.Context, args []string, s streams) int {
	root := newRoot(s)
	root.SetArgs(args)
	root.SetIn(s.in)
	root.SetOut(s.out)
	root.SetErr(s.err)
	verb, err := root.ExecuteContextC(ctx)
	var exit *exitError
	switch {
	case err == nil:
	case errors.As(err, &exit) && exit.err == nil:
	case verb.Name() == "run" && verb.Flags().Changed("json"):
		fmt.Fprintf(s.err, "%s\n", jsonMessage("error", strings.TrimRight(err.Error(), "\n")))
	default:
		fmt.Fprintf(s.err, "flexwright: %s\n", plain(strings.TrimRight(err.Error(), "\n")))
	}
	return status(err)
}
