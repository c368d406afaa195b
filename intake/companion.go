package intake

import (
	"path"
	"slices"
	"strings"
	"time"
)

// Companion is a file that is no photo and belongs to one: the short film that a
// phone takes with a still, a sidecar with words or edits, a small picture that
// a camera writes beside a large file. Its bytes are kept as an original.
type Companion struct {
	ID        PhotoID // the SHA-256 of its bytes
	Photo     PhotoID // zero: its photo has not come
	Kind      CompanionKind
	Ext       string // lower case with its dot, ".mov": what it is stored under
	Name      string // as it first arrived
	Size      int64
	Received  time.Time
	ContentID string // what a phone gives a still and its film alike, "" for none
	Gone      bool   // forgotten: only the hash is kept
}

// CompanionKind says what a companion is.
type CompanionKind string

// The kinds of companion.
const (
	CompanionFilm      CompanionKind = "film"
	CompanionSidecar   CompanionKind = "sidecar"
	CompanionThumbnail CompanionKind = "thumbnail"
)

// CompanionOf tells by a file's name which companion it would be, "" for none,
// and the extension that it is stored under.
func CompanionOf(name string) (CompanionKind, string) {
	ext := lowerASCII(path.Ext(name))
	switch ext {
	case ".mov", ".mp4":
		return CompanionFilm, ext
	case ".xmp", ".aae":
		return CompanionSidecar, ext
	case ".thm":
		return CompanionThumbnail, ext
	}
	return "", ""
}

// FolderAndStem splits the path of a file into what cameras keep alike for the
// files of one shot: the folder with its last separator, and the name in lower
// case without its extension. Some programs name a sidecar after the whole name
// of its photo, IMG_1.CR2.xmp: a second extension goes too, where it is one of a
// photo.
func FolderAndStem(file string) (folder, stem string) {
	cut := strings.LastIndexAny(file, `/\`) + 1
	folder, stem = file[:cut], lowerASCII(file[cut:])
	kind, _ := CompanionOf(stem)
	stem = strings.TrimSuffix(stem, path.Ext(stem))
	if ext := path.Ext(stem); kind != "" && slices.Contains(photoExtensions, strings.TrimPrefix(ext, ".")) {
		stem = strings.TrimSuffix(stem, ext)
	}
	return folder, stem
}

// photoExtensions are what photos are called after their dot, from memory.
var photoExtensions = strings.Fields(`jpg jpeg jpe heic heif hif avif png webp tif tiff
	dng cr2 cr3 crw nef nrw arw srf sr2 orf rw2 raw raf pef x3f srw 3fr iiq rwl mrw kdc dcr erf`)

// lowerASCII folds what camera names are made of and nothing else, exactly as
// SQLite's lower does: both compare stems.
func lowerASCII(s string) string {
	return strings.Map(func(r rune) rune {
		if 'A' <= r && r <= 'Z' {
			return r + 'a' - 'A'
		}
		return r
	}, s)
}
