package sqlite

import (
	"slices"

	"haulbook/intake"
	"haulbook/intake/grouping"
)

// bunch is a group in the making.
type bunch struct {
	photos  []intake.Photo
	owner   intake.ID
	before  intake.Boundary
	after   intake.Boundary
	undated bool
	pending intake.Number
}

// place is one photo in its haul's corrected shooting order.
type place struct {
	photo   intake.Photo
	owner   intake.ID
	divider bool
	before  intake.Boundary
}

// line puts the dated photos of a pile in shooting order.
func (b Bench) line(p *pile) []place {
	slices.SortFunc(p.photos, intake.ComparePhotos) // the same photos in the same order are the same split
	var dated []intake.Photo
	var shots []grouping.Shot
	for _, photo := range p.photos {
		if photo.Taken().IsZero() {
			continue
		}
		dated = append(dated, photo)
		shots = append(shots, grouping.Shot{
			Taken: photo.Order(), Camera: clockOf(photo), Counter: photo.Counter(),
			Tag: p.evidence(photo), Plate: strangeCode(photo), Item: string(p.owner[photo.ID]), Divider: p.divides(photo), Cut: p.said[photo.ID],
		})
	}
	if len(shots) == 0 {
		return nil
	}
	result := b.split(p.haul.ID, shots)
	out := make([]place, len(result.Order))
	for k, i := range result.Order {
		out[k] = place{dated[i], p.owner[dated[i].ID], shots[i].Divider, result.Before[k]}
	}
	return out
}

// clockOf names the clock that a photo's time comes from. It is the body, not the
// name that people give it: two bodies of one model run apart. Corrected clocks
// all tell the true time, so they are one: nothing is left to guess between them.
func clockOf(photo intake.Photo) string {
	if photo.Resolved.Correction != "" {
		return "true"
	}
	m := photo.Meta
	return m.Make + "\x00" + m.Model + "\x00" + m.BodySerial
}

// certainCut is the boundary at the ends of a haul and beside what is settled.
// strangeCode reports whether a code that is none of our tags is in view. Makers
// put theirs on serial plates, so it is a soft hint that this is the plate shot.
func strangeCode(photo intake.Photo) bool {
	return slices.ContainsFunc(photo.Codes, func(c intake.SeenCode) bool {
		_, own := c.Tag()
		return !own
	})
}

var certainCut = intake.Boundary{Cut: true, Certainty: 1}

// bunches cuts a line into groups, one for each item that photos belong to
// already and one for each run of free photos, and sets undated ones behind.
func (b Bench) bunches(p *pile) []*bunch {
	var out []*bunch
	ofItem := map[intake.ID]*bunch{}
	var open *bunch
	for _, at := range b.line(p) {
		if at.divider {
			open = nil
			continue
		}
		before := at.before
		if open == nil || open.owner != at.owner {
			// A divider or what is settled next door: nothing to doubt.
			before.Cut, before.Certainty = true, 1
		} else if at.owner != "" {
			before.Cut = false
		}
		if before.Cut {
			// The doubt of a boundary belongs to both groups beside it.
			if open != nil {
				open.after = before
			}
			open = &bunch{owner: at.owner, before: before, after: certainCut}
			// Photos of one item are one group wherever they stand in the line: a second
			// session does not make a second thing.
			if at.owner != "" && ofItem[at.owner] != nil {
				open = ofItem[at.owner]
			} else {
				out = append(out, open)
			}
			ofItem[at.owner] = open
		}
		open.photos = append(open.photos, at.photo)
	}
	for _, photo := range p.photos {
		if !photo.Taken().IsZero() || p.divides(photo) {
			continue
		}
		owner := p.owner[photo.ID]
		if owner != "" && ofItem[owner] != nil {
			ofItem[owner].photos = append(ofItem[owner].photos, photo)
			continue
		}
		// Without a time there is no neighbour, so each one waits alone.
		ofItem[owner] = &bunch{photos: []intake.Photo{photo}, owner: owner, before: certainCut, after: certainCut, undated: true}
		out = append(out, ofItem[owner])
	}
	return out
}

// group finishes one bunch.
func (p *pile) group(b *bunch) intake.Group {
	g := intake.Group{
		Haul: p.haul, Photos: intake.GuessRoles(b.photos), Before: b.before, Pending: b.pending, Undated: b.undated,
		Certainty: min(b.before.Certainty, b.after.Certainty), Item: p.items[b.owner],
	}
	g.Code = p.codeOf(b)
	if b.owner != "" {
		g.Certainty = 1
		return g
	}
	// Its tag may lead to an item that is in use: late photos of it.
	if row, _ := p.follow(g.Code); row.itemState == intake.StateEntered || row.itemState == intake.StateAccessioned {
		g.Item = p.items[row.item]
	}
	return g
}

// codeOf is the group's own tag: the largest in view among all its photos, because
// a tag shot is taken from near and a neighbour's tag is seen from afar.
func (p *pile) codeOf(b *bunch) intake.Code {
	var code intake.Code
	largest := 0.0
	for _, photo := range b.photos {
		if seen, share := p.tagIn(photo); seen != "" && (code == "" || share > largest) {
			code, largest = seen, share
		}
	}
	return code
}

// waits reports whether the bunch still needs a plate reading.
func (p *pile) waits(b *bunch) bool {
	return b.owner == "" || p.items[b.owner].State == intake.StateEntered
}

// promise gives every undone number to the waiting group that has most of its
// photos, or failing that the tag of its item. The lower number chooses first.
func (p *pile) promise(bunches []*bunch) {
	for _, u := range p.undone {
		var best *bunch
		most := 0
		for _, b := range bunches {
			if !p.waits(b) || !b.pending.IsZero() || b.owner != "" && b.owner != u.item {
				continue
			}
			// The earlier of two groups that claim alike: numbers follow shooting order.
			if n := p.claim(u, b); n > most {
				best, most = b, n
			}
		}
		if best != nil {
			best.pending = u.number
		}
	}
}

// claim says how strongly a group asks for an undone number: by its tag beyond all
// doubt, else by how many photos the number was read from. A group whose tag
// belongs to another thing asks for nothing.
func (p *pile) claim(u undone, b *bunch) int {
	const certain = 1_000_000 // more than any haul has photos
	row, _ := p.follow(p.codeOf(b))
	if b.owner == u.item || row.item == u.item {
		return certain
	}
	if row.itemState == intake.StateEntered || row.itemState == intake.StateAccessioned {
		return 0 // its tag belongs to another thing
	}
	n := 0
	for _, photo := range b.photos {
		if u.photos[photo.ID] {
			n++
		}
	}
	return n
}
