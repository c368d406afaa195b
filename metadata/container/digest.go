package container

import (
	"crypto/sha256"
	"encoding/binary"
	"hash"
)

// digest hashes the parts of a file that make its picture. Each part has a name
// and is hashed for itself; the hash of the whole is that of the names and the
// hashes of the parts, so that bytes cannot move from one part into the next
// unseen. A nil digest takes nothing: walks that look for tags have none.
type digest struct {
	s     *source
	outer hash.Hash
	inner hash.Hash // nil before the first part
	data  int64     // bytes of coded picture so far
	left  int64     // bytes that may still be hashed
	bad   bool      // a part lies outside of the file, or there was too much
}

// newDigest begins the hash of a picture. What is hashed is bounded by the file's
// length with some to spare: parts of a crafted file can overlap.
func newDigest(s *source, format Format) *digest {
	d := &digest{s: s, outer: sha256.New(), left: 2*s.size + maxBlock}
	d.outer.Write([]byte(format + "\x00"))
	return d
}

// partCost is what a part counts for beside its bytes: many small ones cost time.
const partCost = 64

// begin begins a part. Names are four characters or padded to be.
func (d *digest) begin(name string) {
	if d == nil {
		return
	}
	d.finish()
	d.charge(partCost)
	d.inner = sha256.New()
	d.outer.Write([]byte((name + "    ")[:4]))
}

// finish adds the part to the whole.
func (d *digest) finish() {
	if d.inner != nil {
		d.outer.Write(d.inner.Sum(nil))
		d.inner = nil
	}
}

// charge takes n off what may still be hashed, and says whether that was there.
func (d *digest) charge(n int64) bool {
	d.left -= max(n, 0)
	d.bad = d.bad || d.left < 0
	return !d.bad
}

// part is a whole part in one run.
func (d *digest) part(name string, off, n int64) {
	if d != nil {
		d.begin(name)
		d.run(off, n)
	}
}

// run adds n bytes at off to the part that was begun.
func (d *digest) run(off, n int64) {
	if d == nil {
		return
	}
	d.bad = d.bad || off < 0 || n < 0 || off > d.s.size-n
	if !d.charge(n) {
		return
	}
	for n > 0 {
		b := d.s.at(off, int(min(n, pageSize)))
		if len(b) == 0 {
			d.bad = true
			return
		}
		d.inner.Write(b)
		off, n = off+int64(len(b)), n-int64(len(b))
	}
}

// picture is run for bytes of the coded picture itself.
func (d *digest) picture(off, n int64) {
	if d != nil {
		d.run(off, n)
		d.data += n
	}
}

// numbers adds numbers to the part that was begun.
func (d *digest) numbers(list ...int64) {
	if !d.charge(8 * int64(len(list))) {
		return
	}
	for _, v := range list {
		d.inner.Write(binary.BigEndian.AppendUint64(nil, uint64(v)))
	}
}

// sum is the hash, and zeros where the picture was not found whole.
func (d *digest) sum(whole bool) (sum [sha256.Size]byte) {
	d.finish()
	if whole && !d.bad && d.data > 0 && d.s.err() == nil {
		d.outer.Sum(sum[:0])
	}
	return sum
}
