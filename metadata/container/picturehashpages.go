package container

// shapingTags are the fields of a TIFF page that say how its strips and tiles
// become a picture (TIFF 6.0 and its supplements). Numbers are hashed as numbers:
// writers change the width of fields and the order of bytes.
var shapingTags = []uint16{
	tagWidth, tagHeight, 0x0102, tagCompression, tagPhotometric, 0x010a, // bits, fill order
	0x0115, 0x0116, 0x011c, 0x0124, 0x013d, // samples, rows, planes, fax options, predictor
	0x0140, 0x0142, 0x0143, 0x0152, 0x0153, // colour map, tile size, extra samples, sample format
	tagJPEGTables, 0x0212, // subsampling
}

const tagJPEGTables = 0x015b

// maxShaping bounds one such field: a colour map of 16 bits has the most numbers.
const maxShaping = 3 << 16

// pages hashes the pages of a TIFF. A page that only points to a JPEG stream is a
// preview, but for the first one; raw files have no hash.
func (d *digest) pages() (sum [32]byte) {
	t := readTIFF(d.s)
	hashed := 0
	for i, p := range t.pages {
		_, strips := p.fields[tagStripOffsets]
		_, tiles := p.fields[tagTileOffsets]
		if p.reduced || !strips && !tiles && i > 0 {
			continue
		}
		hashed++
		d.begin("page")
		for _, tag := range shapingTags {
			d.shaping(t, p.fields[tag])
		}
		for _, pair := range placesOfData {
			d.stripsOf(t, p.fields[pair[0]], p.fields[pair[1]])
		}
	}
	return d.sum(hashed > 0 && !t.raw && !t.cut && !t.lost && t.left > 0)
}

// shaping adds a field: its tag, how many values, and the values.
func (d *digest) shaping(t *tiffFile, f field) {
	if f.count == 0 {
		return
	}
	d.numbers(int64(f.tag), f.count)
	if f.tag == tagJPEGTables {
		d.run(f.at, f.size())
		return
	}
	if f.count > maxShaping {
		d.bad = true
		return
	}
	for i := int64(0); i < f.count && !d.bad; i++ {
		v, _ := t.integer(f, i)
		d.numbers(v)
	}
}

// stripsOf adds the strips or tiles of a page one after the other. The second
// field says how long each is; a strip without a length cannot be told from what
// is behind it.
func (d *digest) stripsOf(t *tiffFile, offsets, counts field) {
	n := min(offsets.count, int64(t.left))
	t.left -= int(n)
	for i := int64(0); i < n && !d.bad; i++ {
		off, ok := t.integer(offsets, i)
		length, ok2 := t.integer(counts, i)
		if !ok || !ok2 {
			d.bad = true
			return
		}
		d.numbers(length)
		if off != 0 && length != 0 { // 0: a strip that a sparse file left out
			d.picture(off, length)
		}
	}
}
