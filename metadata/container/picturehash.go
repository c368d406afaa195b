package container

import (
	"fmt"
	"io"
)

// PictureHash is the SHA-256 of what makes the picture of a file and of nothing
// else, so that it stays the same while tags, profiles and thumbnails are edited.
// It decodes nothing: the same picture coded anew has another hash. No hash, all
// zeros, means unknown, and equals no other: for a file whose picture is not all
// there, for what is no photo, and for raw files, whose makers do not tell what
// belongs to the picture. The error is r's own.
//
// What is hashed, by format:
//   - JPEG: all that shapes the picture up to the end marker, which is every
//     segment but comments and application segments, and of those APP14, which
//     says how colours are coded.
//   - PNG: IHDR, PLTE, tRNS, IDAT, fcTL and fdAT.
//   - WebP: VP8, VP8L, ALPH, and for animations ANIM, ANMF and the canvas. The
//     head VP8X of a still only announces other chunks; editors add it.
//   - TIFF: strips and tiles of every page that is no preview, and the fields
//     without which they cannot be decoded.
//   - HEIC and AVIF: the primary item, the items it is made of, and the settings
//     of their codecs. Turning is not part of it: like Exif's, it can be edited.
func PictureHash(r io.ReaderAt, size int64, format Format) (sum [32]byte, err error) {
	s := newSource(r, size)
	d := newDigest(s, format)
	if Sniff(s.at(0, 512)) == format {
		sum = d.file(format)
	}
	if s.err() != nil {
		return [32]byte{}, fmt.Errorf("read the picture: %w", s.err())
	}
	return sum, nil
}

// file walks a file of that format.
func (d *digest) file(format Format) (sum [32]byte) {
	switch format {
	case JPEG:
		w := jpegWalk{s: d.s, d: d}
		w.walk()
		return d.sum(w.ended && w.framed && w.scanned)
	case PNG:
		w := pngWalk{s: d.s, d: d}
		w.walk()
		return d.sum(w.c.State == Whole && w.pictured)
	case WebP:
		return d.sum(walkWebP(d.s, d).Damage == "")
	case TIFF:
		return d.pages()
	case HEIC, AVIF:
		return d.items()
	}
	return sum
}

// segment adds a JPEG segment where it shapes the picture.
func (d *digest) segment(m byte, off, n int64) {
	const app0, app14, app15, com = 0xe0, 0xee, 0xef, 0xfe
	if d != nil && (m < app0 || m > app15 || m == app14) && m != com {
		d.part(string([]byte{m}), off, n)
	}
}

// chunk adds a PNG chunk where it shapes the picture. How picture data is cut
// into IDAT chunks is left to writers, so those in a row are one part.
func (d *digest) chunk(kind, last string, off, n int64) {
	switch {
	case d == nil:
	case kind == "IDAT" || kind == "fdAT":
		if kind != last {
			d.begin(kind)
		}
		d.picture(off, n)
	case kind == "IHDR" || kind == "PLTE" || kind == "tRNS" || kind == "fcTL":
		d.part(kind, off, n)
	}
}

// riff adds a WebP chunk where it shapes the picture.
func (d *digest) riff(kind string, off, n int64) {
	const animated = 0x02 // RFC 9649, 2.7.1: flags, reserved, canvas
	switch {
	case d == nil:
	case kind == "VP8 " || kind == "VP8L" || kind == "ALPH" || kind == "ANMF":
		d.begin(kind)
		d.picture(off, n)
	case kind == "ANIM":
		d.part(kind, off, n)
	case kind == "VP8X":
		if head := d.s.at(off, 1); len(head) == 1 && head[0]&animated != 0 {
			d.part(kind, off+4, n-4)
		}
	}
}
