package metadata

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"haulbook/metadata/container"
)

// ErrNotVideo says that the bytes are no film. Test with errors.Is.
var ErrNotVideo = errors.New("not a film")

// Video is what a film that phones take with a still says about itself. A film is
// no photo: Read gives ErrNotPhoto for it.
type Video struct {
	// ContentID equals Info.ContentID of the still it was taken with; "" for none.
	ContentID string
	// Taken is the time the phone wrote beside it, From "creationdate". Films
	// without that text leave it unknown, and may have Made.
	Taken Taken
	// Made is the film's own time in UTC, zero where it has none. The standard wants
	// UTC there, but cameras without a zone write their wall clock.
	Made time.Time
}

// filmEpoch is where films count seconds from (ISO/IEC 14496-12, 8.2.2).
var filmEpoch = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)

// ReadVideo reads the size bytes of r, a MOV or MP4. It takes a few boxes and not
// the film. The error is ErrNotVideo for what is no film or is not all there, and
// the reader's own when reading fails.
func ReadVideo(r io.ReaderAt, size int64) (Video, error) {
	c, err := container.ReadVideo(r, size)
	if errors.Is(err, container.ErrNotVideo) {
		return Video{}, ErrNotVideo
	}
	if err != nil {
		return Video{}, fmt.Errorf("read metadata: %w", err)
	}
	v := Video{ContentID: identifier(c.ContentID), Taken: createdAt(c.Created)}
	if c.Made > 0 {
		v.Made = filmEpoch.Add(time.Duration(c.Made) * time.Second)
	}
	return v, nil
}

// createdAt reads "2024-05-17T14:30:00+0200": the wall clock and its zone.
func createdAt(written string) Taken {
	raw, _, _ := strings.Cut(strings.ToValidUTF8(written, "\ufffd"), "\x00")
	t := Taken{Raw: raw}
	s := strings.TrimSpace(raw)
	fraction, zone := "", ""
	if len(s) > 19 {
		zone = s[19:]
		if rest, ok := strings.CutPrefix(zone, "."); ok {
			zone = strings.TrimLeft(rest, "0123456789")
			fraction = rest[:len(rest)-len(zone)]
		}
	}
	wall, ok := parseWall(s, fraction)
	if !ok {
		return t
	}
	t.Wall, t.From = wall, "creationdate"
	t.RawSubSec, t.RawOffset, t.Offset = fraction, strings.TrimSpace(zone), parseOffset(zone)
	return t
}
