package container

import (
	"encoding/binary"
	"io"
)

// pageSize is how much is read from the file at a time. Walks read a few bytes
// here and there; without a page each of them would be a call to the system.
const pageSize = 32 << 10

// source is a file or a part of one, read through a single page. The first error
// of the reader below sticks, for the file and all its parts, and everything
// after it reads as absent: walks look at lengths only, and Read looks at the
// error once, at the end.
type source struct {
	r      io.ReaderAt
	size   int64
	page   []byte // what is in memory, from pageAt on
	pageAt int64
	buf    []byte
	failed *error // shared by a file and its parts
}

func newSource(r io.ReaderAt, size int64) *source {
	return &source{r: r, size: max(size, 0), failed: new(error)}
}

// err is the first error of the reader below, nil for none.
func (s *source) err() error { return *s.failed }

// at returns up to n bytes at off, fewer at the end of the source and none
// outside of it. The bytes are good until the next call. Callers bound n.
func (s *source) at(off int64, n int) []byte {
	if s.err() != nil || off < 0 || off >= s.size || n <= 0 {
		return nil
	}
	n = int(min(int64(n), s.size-off))
	if from := off - s.pageAt; from >= 0 && from+int64(n) <= int64(len(s.page)) {
		return s.page[from : from+int64(n)]
	}
	if n > pageSize {
		return s.fill(make([]byte, n), off)
	}
	if s.buf == nil {
		s.buf = make([]byte, min(pageSize, s.size))
	}
	s.page = s.fill(s.buf[:min(int64(len(s.buf)), s.size-off)], off)
	s.pageAt = off
	return s.page[:min(n, len(s.page))]
}

// copyAt is at, with bytes that stay good. They are never more than the source has.
func (s *source) copyAt(off int64, n int) []byte {
	return append([]byte(nil), s.at(off, n)...)
}

// fill reads into b and returns what was there. A file that became shorter than
// its announced size is treated as ending where it ends.
func (s *source) fill(b []byte, off int64) []byte {
	n, err := s.r.ReadAt(b, off)
	if err != nil && err != io.EOF && err != io.ErrUnexpectedEOF {
		*s.failed = err
		return nil
	}
	return b[:n]
}

// section is a source over n bytes of s from off on, clipped to s.
func (s *source) section(off, n int64) *source {
	if off < 0 || off > s.size {
		off, n = s.size, 0
	}
	n = max(0, min(n, s.size-off))
	part := newSource(io.NewSectionReader(s.r, off, n), n)
	part.failed = s.failed
	return part
}

// cursor takes numbers from a table in big-endian order. Past the end it gives
// zeros and is spent, so that a loop over a table checks once a round.
type cursor struct {
	b     []byte
	spent bool
}

// number takes an unsigned number of n bytes, n at most 8. No bytes are a zero:
// the item tables of box files have fields of no width.
func (c *cursor) number(n int) uint64 {
	if n > len(c.b) {
		c.spent, c.b = true, nil
		return 0
	}
	var v uint64
	for _, b := range c.b[:n] {
		v = v<<8 | uint64(b)
	}
	c.b = c.b[n:]
	return v
}

// text takes n bytes as text, fewer when the table is spent.
func (c *cursor) text(n int) string {
	if n > len(c.b) {
		c.spent, n = true, len(c.b)
	}
	t := string(c.b[:n])
	c.b = c.b[n:]
	return t
}

// be16 and be32 read a number that the caller knows to be there.
func be16(b []byte) int   { return int(binary.BigEndian.Uint16(b)) }
func be32(b []byte) int64 { return int64(binary.BigEndian.Uint32(b)) }
