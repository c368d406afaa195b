package specimen

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
)

// picture is a grey wedge; what it shows does not matter.
func picture(width, height int) image.Image {
	m := image.NewGray(image.Rect(0, 0, width, height))
	for y := range height {
		for x := range width {
			m.SetGray(x, y, color.Gray{Y: uint8(7*x + 3*y)})
		}
	}
	return m
}

// JPEG is a JPEG of that size with the segments right behind its start marker.
func JPEG(width, height int, segments ...[]byte) []byte {
	var b bytes.Buffer
	// A buffer does not fail, and no test asks for more than 65535 pixels a side.
	_ = jpeg.Encode(&b, picture(width, height), nil)
	file := append([]byte{}, b.Bytes()[:2]...)
	for _, s := range segments {
		file = append(file, s...)
	}
	return append(file, b.Bytes()[2:]...)
}

// Segment is a JPEG segment with its marker and length.
func Segment(marker byte, body []byte) []byte {
	s := binary.BigEndian.AppendUint16([]byte{0xff, marker}, uint16(len(body)+2))
	return append(s, body...)
}

// ExifSegment is the APP1 segment of an Exif block.
func ExifSegment(block []byte) []byte {
	return Segment(0xe1, append([]byte("Exif\x00\x00"), block...))
}

// PNG is a PNG of that size. Chunks stand before the picture data, those after
// the first nil behind it.
func PNG(width, height int, chunks ...[]byte) []byte {
	var b bytes.Buffer
	_ = png.Encode(&b, picture(width, height)) // a buffer does not fail
	const head, tail = 8 + 25, 12              // signature with IHDR, IEND
	end := b.Len() - tail
	before, behind := []byte{}, []byte{}
	into := &before
	for _, c := range chunks {
		if c == nil {
			into = &behind
		}
		*into = append(*into, c...)
	}
	file := append([]byte{}, b.Bytes()[:head]...)
	file = append(file, before...)
	file = append(file, b.Bytes()[head:end]...)
	file = append(file, behind...)
	return append(file, b.Bytes()[end:]...)
}

// Chunk is a PNG chunk with its length and check sum.
func Chunk(kind string, body []byte) []byte {
	c := binary.BigEndian.AppendUint32(nil, uint32(len(body)))
	c = append(append(c, kind...), body...)
	return binary.BigEndian.AppendUint32(c, crc32.ChecksumIEEE(c[4:]))
}

// WebP is a WebP with a VP8X head, a picture chunk that says its size and holds
// no picture, and an EXIF chunk when exif is not nil.
func WebP(width, height int, exif []byte) []byte {
	head := make([]byte, 10)
	binary.LittleEndian.PutUint32(head[4:], uint32(width-1))
	head[7], head[8], head[9] = byte(height-1), byte((height-1)>>8), byte((height-1)>>16)
	frame := binary.LittleEndian.AppendUint32([]byte{0x2f}, uint32(width-1)|uint32(height-1)<<14)
	file := append([]byte("RIFF\x00\x00\x00\x00WEBP"), RIFFChunk("VP8X", head)...)
	file = append(file, RIFFChunk("VP8L", frame)...)
	if exif != nil {
		file = append(file, RIFFChunk("EXIF", exif)...)
	}
	binary.LittleEndian.PutUint32(file[4:], uint32(len(file)-8))
	return file
}

// RIFFChunk is a chunk of a RIFF file, filled up to an even length.
func RIFFChunk(kind string, body []byte) []byte {
	c := binary.LittleEndian.AppendUint32([]byte(kind), uint32(len(body)))
	c = append(c, body...)
	if len(body)%2 == 1 {
		c = append(c, 0)
	}
	return c
}

// TIFF is a grey TIFF of that size with one strip, which ends the file. The tags
// of e come after those of the picture.
func TIFF(width, height int, e Exif) []byte {
	main := e.Main
	strip := func(at uint32) []Tag {
		return append([]Tag{
			Number(0x0100, uint16(width)), Number(0x0101, uint16(height)),
			Number(0x0102, 8), Number(0x0103, 1), Number(0x0106, 1),
			{ID: 0x0111, Type: Long, Numbers: []uint32{at}},
			{ID: 0x0117, Type: Long, Numbers: []uint32{uint32(width * height)}},
		}, main...)
	}
	e.Main = strip(0)
	e.Main = strip(uint32(len(e.Block())))
	return append(e.Block(), make([]byte, width*height)...)
}
