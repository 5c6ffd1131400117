package results

import (
	"context"
	"io/fs"
)

// stoppable is a disk on which nothing goes on once ctx is cancelled: whatever
// is being read or written ends with the error of ctx within a few kilobytes.
// What was begun can still be removed.
type stoppable struct {
	disk
	ctx context.Context
}

func (s stoppable) file(f file, err error) (file, error) {
	if err != nil {
		return nil, err
	}
	return stoppableFile{f, s.ctx}, nil
}

func (s stoppable) Open(path string) (file, error) {
	if err := s.ctx.Err(); err != nil {
		return nil, err
	}
	return s.file(s.disk.Open(path))
}

func (s stoppable) Create(path string) (file, error) {
	if err := s.ctx.Err(); err != nil {
		return nil, err
	}
	return s.file(s.disk.Create(path))
}

func (s stoppable) Rename(from, to string) error {
	if err := s.ctx.Err(); err != nil {
		return err
	}
	return s.disk.Rename(from, to)
}

func (s stoppable) ReadDir(path string) ([]fs.DirEntry, error) {
	if err := s.ctx.Err(); err != nil {
		return nil, err
	}
	return s.disk.ReadDir(path)
}

type stoppableFile struct {
	file
	ctx context.Context
}

func (f stoppableFile) ReadAt(p []byte, at int64) (int, error) {
	if err := f.ctx.Err(); err != nil {
		return 0, err
	}
	return f.file.ReadAt(p, at)
}

func (f stoppableFile) Write(p []byte) (int, error) {
	if err := f.ctx.Err(); err != nil {
		return 0, err
	}
	return f.file.Write(p)
}
