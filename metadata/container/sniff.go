package container

import (
	"bytes"
	"strings"
)

// pngSignature opens every PNG (ISO/IEC 15948, 5.2).
const pngSignature = "\x89PNG\r\n\x1a\n"

// rafSignature opens the raw files that wrap a JPEG (from files seen).
const rafSignature = "FUJIFILMCCD-RAW"

// Sniff tells the format from the first bytes of a file, 32 or more of them. It
// answers "" for what is no photo known here. A raw file built as a TIFF often
// shows only in its directories: Sniff says TIFF then, and Read says Raw.
//
// Only the very first bytes count. A JPEG behind leading junk is no photo: no
// viewer shows it, and what hides in the middle of a file is not what was named.
func Sniff(head []byte) Format {
	switch h := string(head[:min(len(head), 16)]); {
	case h == "\xff\xd8", strings.HasPrefix(h, "\xff\xd8\xff"):
		return JPEG
	case strings.HasPrefix(h, pngSignature):
		return PNG
	case strings.HasPrefix(h, "RIFF") && len(h) >= 12 && h[8:12] == "WEBP":
		return WebP
	case strings.HasPrefix(h, rafSignature):
		return Raw
	case len(h) >= 12 && h[4:8] == "ftyp":
		return sniffBrands(head)
	}
	return sniffTIFF(head)
}

// sniffTIFF knows the two byte orders and the magic numbers after them: 42 for
// TIFF 6.0, 43 for BigTIFF, and those some makers put in the place of 42.
func sniffTIFF(head []byte) Format {
	if len(head) < 8 {
		return ""
	}
	switch string(head[:4]) {
	case "II*\x00", "MM\x00*":
		// "CR" and a version behind the first offset mark one maker's raw files.
		if len(head) >= 10 && string(head[8:10]) == "CR" {
			return Raw
		}
		return TIFF
	case "II+\x00", "MM\x00+":
		// BigTIFF says how wide its offsets are; other widths were never used.
		if bytes.Equal(head[4:8], []byte{8, 0, 0, 0}) || bytes.Equal(head[4:8], []byte{0, 8, 0, 0}) {
			return TIFF
		}
		return ""
	case "IIU\x00", "IIRO", "IIRS", "MMOR":
		return Raw
	}
	return ""
}

// sniffBrands judges a box file by its ftyp box: the major brand decides where it
// is one of ours, else the first compatible brand that is. Films have neither.
func sniffBrands(head []byte) Format {
	n := min(be32(head), int64(len(head)))
	if n == 1 || n == 0 { // a 64-bit length or none: look at what we were given
		n = int64(len(head))
	}
	if n < 12 {
		return ""
	}
	if f := brands[string(head[8:12])]; f != "" && f != genericBrand {
		return f
	}
	// "mif1" and its kin say only that there is a picture item; which codec it
	// uses stands among the compatible brands.
	generic := brands[string(head[8:12])]
	// The short form of meta has its codec in the place of the minor version.
	first := int64(16)
	if string(head[8:12]) == "mif3" {
		first = 12
	}
	for off := first; off+4 <= n; off += 4 {
		f := brands[string(head[off:off+4])]
		if f != "" && f != genericBrand {
			return f
		}
		if f == genericBrand {
			generic = f
		}
	}
	if generic == genericBrand {
		return HEIC
	}
	return ""
}

// genericBrand marks brands that name the structure and no codec.
const genericBrand Format = "heif"

// brands maps the brands of ISO/IEC 23008-12 annex B and of the AVIF
// specification. Files with a generic brand alone are kept as HEIC: the name
// Format has for "an item file that is not AVIF".
var brands = map[string]Format{
	"heic": HEIC, "heix": HEIC, "heim": HEIC, "heis": HEIC,
	"hevc": HEIC, "hevx": HEIC, "hevm": HEIC, "hevs": HEIC,
	"avif": AVIF, "avis": AVIF, "avio": AVIF,
	"mif1": genericBrand, "mif2": genericBrand, "mif3": genericBrand, "msf1": genericBrand,
	"miaf": genericBrand, "jpeg": genericBrand, "jpgs": genericBrand, "j2ki": genericBrand,
	"j2is": genericBrand, "vvic": genericBrand, "vvis": genericBrand, "unif": genericBrand,
	"crx ": Raw,
}
