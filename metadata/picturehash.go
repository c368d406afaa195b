package metadata

import (
	"io"

	"haulbook/metadata/container"
)

// PictureHash is the SHA-256 of what makes the picture of the size bytes of r and
// of nothing else: two files with one hash are the same picture, with other tags,
// thumbnails or profiles. f is the Format that Read gave. It streams and decodes
// nothing, so a picture that was decoded and coded again has another hash.
//
// All zeros means unknown and says nothing about being equal: for raw files, for
// photos that are not all there, and for bytes that are not of format f. The
// error is r's own. The hashes are kept in books: what they cover never changes.
func PictureHash(r io.ReaderAt, size int64, f Format) ([32]byte, error) {
	return container.PictureHash(r, size, container.Format(f))
}
