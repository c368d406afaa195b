package main

import (
	"haulbook/intake"
)

// The JSON that scripts rely on. Fields may be added and never renamed; the
// script tests pin them.

// reading is what take says of one file.
type reading struct {
	File        string            `json:"file"` // the name as it arrived
	Path        string            `json:"path"`
	Photo       string            `json:"photo"`
	Outcome     intake.Outcome    `json:"outcome"`
	Reason      string            `json:"reason"`
	Taken       string            `json:"taken"` // wall clock as the camera wrote it
	TakenFrom   string            `json:"taken_from"`
	Offset      string            `json:"offset"`
	Make        string            `json:"make"`
	Model       string            `json:"model"`
	BodySerial  string            `json:"body_serial"`
	Width       int               `json:"width"`
	Height      int               `json:"height"`
	Orientation int               `json:"orientation"` // as the file says, 0 when it does not
	Latitude    *float64          `json:"latitude"`
	Longitude   *float64          `json:"longitude"`
	Codes       []intake.SeenCode `json:"codes"`
}

func readingOf(a intake.Arrival) reading {
	m := a.Photo.Meta
	r := reading{
		File: a.Photo.Name, Path: a.Path, Outcome: a.Outcome, Reason: a.Reason,
		Taken: wall(a.Photo), TakenFrom: m.Taken.From, Offset: m.Taken.Offset,
		Make: m.Make, Model: m.Model, BodySerial: m.BodySerial,
		Width: m.Width, Height: m.Height, Orientation: m.ExifOrientation,
		Codes: append([]intake.SeenCode{}, a.Photo.Codes...),
	}
	if !a.Photo.ID.IsZero() {
		r.Photo = a.Photo.ID.String()
	}
	if m.Position != nil {
		r.Latitude, r.Longitude = &m.Position.Latitude, &m.Position.Longitude
	}
	return r
}

// wall prints the camera's clock with as many sub-second digits as it wrote,
// "" when unknown.
func wall(p intake.Photo) string {
	switch t := p.Taken(); {
	case t.IsZero():
		return ""
	case p.Meta.Taken.RawSubSec != "" && t.Nanosecond() != 0 || t.Nanosecond() != 0:
		return t.Format("2006-01-02T15:04:05.000")
	default:
		return t.Format("2006-01-02T15:04:05")
	}
}

// waiting is one group as the groups command lists it.
type waiting struct {
	Group      string         `json:"group"`
	Haul       string         `json:"haul"`
	HaulNumber string         `json:"haul_number"`
	Certainty  float64        `json:"certainty"`
	Code       string         `json:"code"`
	Item       string         `json:"item,omitempty"` // number of the item its tag belongs to
	Undated    bool           `json:"undated,omitempty"`
	Photos     []waitingPhoto `json:"photos"`
}

type waitingPhoto struct {
	Photo string `json:"photo"`
	File  string `json:"file"`
	Role  string `json:"role"`
	Taken string `json:"taken"`
}

func waitingOf(g intake.Group) waiting {
	w := waiting{
		Group: g.ID(), Haul: g.Haul.Name, HaulNumber: g.Haul.Number.String(), Certainty: g.Certainty,
		Code: string(g.Code), Item: g.Item.Number.String(), Undated: g.Undated, Photos: []waitingPhoto{},
	}
	for _, p := range g.Photos {
		w.Photos = append(w.Photos, waitingPhoto{p.ID.String(), p.Name, string(p.As), wall(p.Photo)})
	}
	return w
}

// shown is an item as show and find print it.
type shown struct {
	Number     string         `json:"number"`
	ID         string         `json:"id"`
	State      intake.State   `json:"state"`
	Codes      []string       `json:"codes"` // the one in use first
	Haul       string         `json:"haul"`
	HaulNumber string         `json:"haul_number"`
	Name       string         `json:"name"`
	Maker      string         `json:"maker"`
	Model      string         `json:"model"`
	Serial     string         `json:"serial"`
	Place      string         `json:"place"`
	Parts      []string       `json:"parts"`
	Photos     []waitingPhoto `json:"photos"`
}

func shownOf(it intake.Item) shown {
	s := shown{
		Number: it.Number.String(), ID: string(it.ID), State: it.State, Codes: []string{},
		Haul: it.Haul.Name, HaulNumber: it.Haul.Number.String(),
		Name: it.Name, Maker: it.Maker, Model: it.Model, Serial: it.Serial, Place: it.Place,
		Parts: []string{}, Photos: []waitingPhoto{},
	}
	for _, inUse := range []bool{true, false} {
		for _, c := range it.Codes {
			if (c.Successor == "") == inUse {
				s.Codes = append(s.Codes, string(c.Code))
			}
		}
	}
	for _, p := range it.Parts {
		s.Parts = append(s.Parts, p.Number.String())
	}
	for _, p := range it.Photos {
		s.Photos = append(s.Photos, waitingPhoto{p.ID.String(), p.Name, string(p.As), wall(p.Photo)})
	}
	return s
}
