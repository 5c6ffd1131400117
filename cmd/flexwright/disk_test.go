//go:build outside && linux

package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"flexwright/results"
)

// These tests mount small file systems: they need root and Linux.

// smallDisk mounts a tmpfs and returns its path.
func smallDisk(t *testing.T, options string) string {
	t.Helper()
	dir := t.TempDir()
	mount(t, "-t", "tmpfs", "-o", options, "tmpfs", dir)
	t.Cleanup(func() {
		if out, err := exec.Command("umount", dir).CombinedOutput(); err != nil {
			t.Errorf("%v %s", err, out)
		}
	})
	return dir
}

func mount(t *testing.T, args ...string) {
	t.Helper()
	if out, err := exec.Command("mount", args...).CombinedOutput(); err != nil {
		t.Fatalf("mount %v: %v %s", args, err, out)
	}
}

func buildBinary(t *testing.T) string {
	t.Helper()
	binary := filepath.Join(t.TempDir(), "flexwright")
	if out, err := exec.Command("go", "build", "-o", binary, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return binary
}

// execute runs the real program.
func execute(t *testing.T, name string, args ...string) (int, string) {
	t.Helper()
	cmd := exec.Command(name, args...)
	out, _ := cmd.CombinedOutput()
	return cmd.ProcessState.ExitCode(), string(out)
}

// fullDiskBrief stores about 2 MB.
func fullDiskBrief(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "full.yaml")
	if err := os.WriteFile(path, []byte(soakBrief+"{method: latin, designs: 24000, seed: 5}\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

// keptPrefix checks that a folder is whole and has the first rows of the run.
func keptPrefix(t *testing.T, binary, dir string, want [][]byte) int {
	t.Helper()
	if code, out := execute(t, binary, "verify", dir); code != exitDone {
		t.Fatalf("verify: %d\n%s", code, out)
	}
	folder, err := results.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for row, err := range folder.Rows() {
		if err != nil {
			t.Fatal(err)
		}
		row.SolveUS = 0
		if string(rowJSON(folder.Columns(), &row)) != string(want[n]) {
			t.Fatalf("row %d is not the same", n)
		}
		n++
	}
	return n
}

func TestFullDisk(t *testing.T) {
	binary, brief := buildBinary(t), fullDiskBrief(t)
	calm := filepath.Join(t.TempDir(), "calm.run")
	if code, out := execute(t, binary, "run", brief, "--out", calm); code != exitDone {
		t.Fatal(code, out)
	}
	want, front := soakRows(t, calm)
	// The first part, half a second's rows, has to fit, and not all of them.
	all, err := os.Stat(filepath.Join(calm, "candidates.parquet"))
	if err != nil {
		t.Fatal(err)
	}
	for name, test := range map[string]struct{ options, more string }{
		"space":  {fmt.Sprintf("size=%dk", all.Size()*2/3/1024), "size=64m"},
		"inodes": {"size=64m,nr_inodes=7", "size=64m,nr_inodes=1000"},
	} {
		disk := smallDisk(t, test.options)
		dir := filepath.Join(disk, "full.run")
		began := time.Now()
		code, out := execute(t, binary, "run", brief, "--out", dir)
		if code != exitNoWrite || !strings.Contains(out, "disk is full") {
			t.Fatalf("%s: %d\n%s", name, code, out)
		}
		if folder, err := results.Open(dir); err != nil || name == "space" && folder.Manifest().EndedBy != results.ByCannotWrite { // without an inode there is no new manifest
			t.Errorf("%s: the folder does not say that it could not be written: %v", name, err)
		}
		kept := keptPrefix(t, binary, dir, want)
		if kept == 0 || kept == len(want) {
			t.Fatalf("%s: %d rows kept", name, kept)
		}
		// Still full: the same answer, nothing lost.
		if code, out := execute(t, binary, "run", brief, "--out", dir); code != exitNoWrite {
			t.Fatalf("%s, again: %d\n%s", name, code, out)
		}
		if again := keptPrefix(t, binary, dir, want); again < kept {
			t.Fatalf("%s: %d rows kept, then %d", name, kept, again)
		}
		mount(t, "-o", "remount,"+test.more, disk)
		if code, out := execute(t, binary, "run", brief, "--out", dir); code != exitDone {
			t.Fatalf("%s, with room: %d\n%s", name, code, out)
		}
		if n := keptPrefix(t, binary, dir, want); n != len(want) {
			t.Fatalf("%s: %d rows at the end, want %d", name, n, len(want))
		}
		if _, have := soakRows(t, dir); string(have) != string(front) {
			t.Fatalf("%s: the front is not the same", name)
		}
		t.Logf("%s: %d of %d rows before the disk was full, %v in all", name, kept, len(want), time.Since(began).Round(time.Millisecond))

		// Read-only: what reads works, what writes says why not.
		mount(t, "-o", "remount,ro", disk)
		for verb, status := range map[string]int{"front": exitDone, "verify": exitDone} {
			if code, out := execute(t, binary, verb, dir); code != status {
				t.Errorf("read-only, %s: %d\n%s", verb, code, out)
			}
		}
		if code, out := execute(t, binary, "run", brief, "--out", dir); code != exitDone { // it has nothing to write
			t.Errorf("read-only, a finished run: %d\n%s", code, out)
		}
		if code, out := execute(t, binary, "run", brief, "--out", filepath.Join(disk, "other.run")); code != exitNoWrite || !strings.Contains(out, "read-only") {
			t.Errorf("read-only: %d\n%s", code, out)
		}
		mount(t, "-o", "remount,rw", disk)
	}
}

// A full disk, or one that may not be written to, leaves the old file where a new one was asked for,
// and nothing beside it.
func TestOutputsOnAFullDisk(t *testing.T) {
	binary := buildBinary(t)
	run := filepath.Join(t.TempDir(), "a.run")
	brief := filepath.Join(t.TempDir(), "a.yaml")
	if err := os.WriteFile(brief, []byte(soakBrief+"{method: sobol, designs: 30}\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if code, out := execute(t, binary, "run", brief, "--out", run); code != exitDone {
		t.Fatal(code, out)
	}
	disk := smallDisk(t, "size=64k")
	outputs := map[string][]string{
		"r.html": {"report", run, "--out"}, "p.svg": {"draw", run, "--design", "1", "--svg"}, "p.dxf": {"draw", run, "--design", "1", "--dxf"},
		"a.json": {"show", run, "--design", "1", "--assembly"},
	}
	for name := range outputs {
		if err := os.WriteFile(filepath.Join(disk, name), []byte("old"), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	execute(t, "dd", "if=/dev/zero", "of="+filepath.Join(disk, "filler"), "bs=4k")
	for _, how := range []string{"rw", "ro"} {
		mount(t, "-o", "remount,"+how, disk)
		for name, args := range outputs {
			path := filepath.Join(disk, name)
			code, out := execute(t, binary, append(args, path)...)
			if text, _ := os.ReadFile(path); code != exitNoWrite || string(text) != "old" {
				t.Errorf("%s, %s: %d, the file holds %.20q\n%s", how, name, code, text, out)
			}
		}
		if entries, err := os.ReadDir(disk); err != nil || len(entries) != len(outputs)+1 {
			t.Errorf("%s: %v %v", how, entries, err)
		}
	}
	mount(t, "-o", "remount,rw", disk)
}

// A limit on the size of files (ulimit -f) is an error, not a death.
func TestFileSizeLimit(t *testing.T) {
	binary, brief := buildBinary(t), fullDiskBrief(t)
	dir := filepath.Join(t.TempDir(), "limit.run")
	code, out := execute(t, "bash", "-c", "ulimit -f 256; exec \"$@\"", "bash", binary, "run", brief, "--out", dir)
	if code != exitNoWrite || !strings.Contains(out, "ulimit -f") {
		t.Fatalf("%d\n%s", code, out)
	}
	if code, out := execute(t, binary, "verify", dir); code != exitDone {
		t.Fatalf("%d\n%s", code, out)
	}
	if code, out := execute(t, binary, "run", brief, "--out", dir); code != exitDone {
		t.Fatalf("%d\n%s", code, out)
	}
}

// Without permission nothing is written and the message says why.
func TestNoPermission(t *testing.T) {
	binary, brief := buildBinary(t), fullDiskBrief(t)
	parent, err := os.MkdirTemp("/var/tmp", "flexwright")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(parent) })
	data, err := os.ReadFile(binary)
	if err != nil {
		t.Fatal(err)
	}
	open := filepath.Join(parent, "flexwright")
	text, err := os.ReadFile(brief)
	if err != nil {
		t.Fatal(err)
	}
	for path, content := range map[string][]byte{open: data, filepath.Join(parent, "b.yaml"): text} {
		if err := os.WriteFile(path, content, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Chmod(parent, 0o755); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(open, "run", filepath.Join(parent, "b.yaml"), "--out", filepath.Join(parent, "x.run"))
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
	out, _ := cmd.CombinedOutput()
	if code := cmd.ProcessState.ExitCode(); code != exitNoWrite || !strings.Contains(string(out), "permission denied") {
		t.Errorf("%d\n%s", code, out)
	}
	if _, err := os.Stat(filepath.Join(parent, "x.run")); !os.IsNotExist(err) {
		t.Error("something was written")
	}
}

// The folder is removed while the run is running.
func TestFolderRemovedMeanwhile(t *testing.T) {
	binary, brief := buildBinary(t), fullDiskBrief(t)
	dir := filepath.Join(t.TempDir(), "gone.run")
	cmd := exec.Command(binary, "run", brief, "--out", dir)
	var out strings.Builder
	cmd.Stdout, cmd.Stderr = &out, &out
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	time.Sleep(700 * time.Millisecond)
	if err := os.RemoveAll(dir); err != nil {
		t.Log(err) // a part came in between
		os.RemoveAll(dir)
	}
	cmd.Wait()
	// noticed at the lock, or while a file is written or read back: said alike
	said := "cannot write to " + dir + ": no such file or directory (the folder is not there)"
	if code := cmd.ProcessState.ExitCode(); code != exitNoWrite || !strings.Contains(out.String(), said) {
		t.Errorf("%d\n%s", code, out.String())
	}
}

// Two writers that start at the same moment: one goes on, the other is told.
func TestTwoWriters(t *testing.T) {
	binary, brief := buildBinary(t), fullDiskBrief(t)
	root := t.TempDir()
	for i := range 10 {
		dir := filepath.Join(root, strconv.Itoa(i)+".run")
		codes := make(chan int)
		for range 2 {
			go func() {
				code, out := execute(t, binary, "run", brief, "--out", dir, "--max-designs", "500")
				if code == exitInUse && !strings.Contains(out, "in use by") {
					t.Error(out)
				}
				codes <- code
			}()
		}
		a, b := <-codes, <-codes
		if min(a, b) != exitDone || max(a, b) != exitInUse && max(a, b) != exitDone {
			t.Errorf("exit statuses %d and %d", a, b)
		}
		if code, out := execute(t, binary, "verify", dir); code != exitDone || !strings.Contains(out, " 500 rows") {
			t.Errorf("%d\n%s", code, out)
		}
	}
}
