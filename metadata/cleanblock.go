package metadata

import (
	"cmp"
	"encoding/binary"
	"slices"

	"haulbook/metadata/container"
)

// Types of TIFF 6.0 as the decoder knows them.
const (
	typeASCII     = 2
	typeShort     = 3
	typeLong      = 4
	typeUndefined = 7
	typeUTF8      = 129 // Exif 3.0
	typeLong8     = 16  // BigTIFF
)

// cleanBlock writes the entries as a new TIFF block for the decoder: big-endian,
// one directory each, no chain, no loops, every value inside and of the right
// length. The decoder gives a whole file up for one bad entry and can be led
// astray by a crafted one; it never sees the camera's own bytes. It gives nil
// when there is nothing to say.
func cleanBlock(d container.Directories) []byte {
	main, exif, gps := decodable(d.Main), decodable(d.Exif), decodable(d.GPS)
	if len(main)+len(exif)+len(gps) == 0 {
		return nil
	}
	// The pointers are written with place holders first, to know the lengths.
	exifAt, gpsAt := len(main), len(main)
	if len(exif) > 0 {
		main = append(main, pointer(idExifIFD, 0))
		gpsAt++
	}
	if len(gps) > 0 {
		main = append(main, pointer(idGPSIFD, 0))
	}
	next := 8 + directoryLen(main)
	if len(exif) > 0 {
		main[exifAt] = pointer(idExifIFD, next)
		next += directoryLen(exif)
	}
	if len(gps) > 0 {
		main[gpsAt] = pointer(idGPSIFD, next)
	}
	block := []byte{'M', 'M', 0, 42, 0, 0, 0, 8}
	for _, entries := range [][]container.Entry{main, exif, gps} {
		if len(entries) > 0 {
			block = appendDirectory(block, entries)
		}
	}
	return block
}

func pointer(tag uint16, at int) container.Entry {
	return container.Entry{Tag: tag, Type: typeLong, Count: 1, Value: binary.BigEndian.AppendUint32(nil, uint32(at))}
}

// decodable gives the entries in the order of their tags, as TIFF wants them,
// with the types the decoder knows.
func decodable(entries []container.Entry) []container.Entry {
	var list []container.Entry
	for _, e := range entries {
		switch {
		case textTag(e.Tag) && (e.Type == typeUTF8 || e.Type == typeUndefined || e.Type == 1):
			e.Type = typeASCII // text under another type, as some writers put it
		case e.Type == typeLong8 && e.Count == 1 && len(e.Value) == 8:
			e.Type, e.Value = typeLong, e.Value[4:]
		}
		if e.Type >= 1 && e.Type <= 12 && len(e.Value) > 0 {
			list = append(list, e)
		}
	}
	slices.SortStableFunc(list, func(a, b container.Entry) int { return cmp.Compare(a.Tag, b.Tag) })
	return list
}

// directoryLen is the length of a directory with the values that do not fit
// into its entries.
func directoryLen(entries []container.Entry) int {
	n := 2 + 12*len(entries) + 4
	for _, e := range entries {
		if len(e.Value) > 4 {
			n += len(e.Value) + len(e.Value)&1
		}
	}
	return n
}

// appendDirectory writes a directory that ends the chain, its values behind it.
func appendDirectory(block []byte, entries []container.Entry) []byte {
	be := binary.BigEndian
	valuesAt := len(block) + 2 + 12*len(entries) + 4
	var values []byte
	block = be.AppendUint16(block, uint16(len(entries)))
	for _, e := range entries {
		block = be.AppendUint16(block, e.Tag)
		block = be.AppendUint16(block, e.Type)
		block = be.AppendUint32(block, e.Count)
		if len(e.Value) > 4 {
			block = be.AppendUint32(block, uint32(valuesAt+len(values)))
			values = append(values, e.Value...)
			if len(values)&1 == 1 { // values begin on even bytes
				values = append(values, 0)
			}
			continue
		}
		block = append(block, e.Value...)
		block = append(block, make([]byte, 4-len(e.Value))...)
	}
	block = be.AppendUint32(block, 0)
	return append(block, values...)
}
