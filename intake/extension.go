package intake

import "haulbook/metadata"

// Extension returns the lower-case extension, with its dot, under which an
// original of this format is stored. It follows from the bytes alone, never
// from the file's name: the same bytes must lead to the same path whatever they
// were called, and a HEIC that arrived as .jpg must open everywhere.
func Extension(f metadata.Format) string {
	switch f {
	case metadata.FormatJPEG:
		return ".jpg"
	case metadata.FormatPNG:
		return ".png"
	case metadata.FormatWebP:
		return ".webp"
	case metadata.FormatTIFF:
		return ".tif"
	case metadata.FormatHEIC:
		return ".heic"
	case metadata.FormatAVIF:
		return ".avif"
	}
	return ".raw"
}
