package sqlite

import (
	"context"
	"errors"
	"io"
	"time"

	"haulbook/intake"
	"haulbook/intake/grouping"
)

var errSoon = errors.New("not written yet")

// Names for what passes between the ledger and its callers.
type (
	Device = intake.Device
	Target = intake.Target
	Print  = intake.Print
	Stats  = intake.Stats
)

type Options struct {
	Now    func() time.Time
	Random io.Reader
}
type DB struct {
	Now    func() time.Time
	Random io.Reader
}

func Open(ctx context.Context, path string, o Options) (*DB, error) { return nil, errSoon }
func (db *DB) Close() error                                         { return errSoon }
func (db *DB) Version(ctx context.Context) (int64, error)           { return 0, errSoon }

type Photos struct{ DB *DB }

func (p Photos) Receive(ctx context.Context, by intake.By, a *intake.Arrival) error { return errSoon }
func (p Photos) Refuse(ctx context.Context, a intake.Arrival) error                 { return errSoon }
func (p Photos) Looked(ctx context.Context, id intake.PhotoID, look intake.Look, codes []intake.SeenCode) error {
	return errSoon
}
func (p Photos) Photo(ctx context.Context, id intake.PhotoID) (intake.Photo, error) {
	return intake.Photo{}, errSoon
}
func (p Photos) Pending(ctx context.Context) ([]intake.Photo, error) { return nil, errSoon }
func (p Photos) Known(ctx context.Context, path string, size int64, modified time.Time) (intake.Arrival, bool, error) {
	return intake.Arrival{}, false, errSoon
}
func (p Photos) Refused(ctx context.Context) ([]intake.Arrival, error) { return nil, errSoon }
func (p Photos) SetRole(ctx context.Context, by intake.By, id intake.PhotoID, role intake.Role) error {
	return errSoon
}
func (p Photos) SetPurpose(ctx context.Context, by intake.By, id intake.PhotoID, purpose intake.Purpose) error {
	return errSoon
}
func (p Photos) Forget(ctx context.Context, by intake.By, id intake.PhotoID) error { return errSoon }
func (p Photos) Stats(ctx context.Context) (Stats, error)                          { return Stats{}, errSoon }

type Hauls struct{ DB *DB }

func (h Hauls) Named(ctx context.Context, by intake.By, name string) (intake.Haul, error) {
	return intake.Haul{}, errSoon
}
func (h Hauls) Haul(ctx context.Context, ref string) (intake.Haul, error) {
	return intake.Haul{}, errSoon
}
func (h Hauls) List(ctx context.Context) ([]intake.Haul, error) { return nil, errSoon }
func (h Hauls) Amend(ctx context.Context, by intake.By, id intake.ID, seen int, a intake.Haul) (intake.Haul, error) {
	return intake.Haul{}, errSoon
}
func (h Hauls) Items(ctx context.Context, id intake.ID) ([]intake.Item, error)   { return nil, errSoon }
func (h Hauls) Photos(ctx context.Context, id intake.ID) ([]intake.Photo, error) { return nil, errSoon }

type Bench struct {
	DB    *DB
	Split func(shots []grouping.Shot) grouping.Result
}

func (b Bench) Groups(ctx context.Context, haul intake.ID) ([]intake.Group, error) {
	return nil, errSoon
}
func (b Bench) Ribbon(ctx context.Context, haul intake.ID) ([]intake.Group, error) {
	return nil, errSoon
}
func (b Bench) Group(ctx context.Context, id string) (intake.Group, error) {
	return intake.Group{}, errSoon
}
func (b Bench) Read(ctx context.Context, by intake.By, group string, r intake.Reading) (intake.Item, error) {
	return intake.Item{}, errSoon
}
func (b Bench) Cut(ctx context.Context, by intake.By, before intake.PhotoID) error  { return errSoon }
func (b Bench) Join(ctx context.Context, by intake.By, before intake.PhotoID) error { return errSoon }
func (b Bench) Attach(ctx context.Context, by intake.By, group string, item intake.ID) (intake.Item, error) {
	return intake.Item{}, errSoon
}
func (b Bench) Twins(ctx context.Context, maker, model, serial string) ([]intake.Item, error) {
	return nil, errSoon
}
func (b Bench) Words(ctx context.Context, field, prefix string, limit int) ([]string, error) {
	return nil, errSoon
}
func (b Bench) Next(ctx context.Context, haul intake.ID) (intake.Number, error) {
	return intake.Number{}, errSoon
}

type Items struct{ DB *DB }

func (i Items) Item(ctx context.Context, ref string) (intake.Item, error) {
	return intake.Item{}, errSoon
}
func (i Items) List(ctx context.Context, after intake.Number, limit int) ([]intake.Item, error) {
	return nil, errSoon
}
func (i Items) Entered(ctx context.Context) ([]intake.Item, error) { return nil, errSoon }
func (i Items) Find(ctx context.Context, words string, limit int) ([]intake.Item, error) {
	return nil, errSoon
}
func (i Items) Amend(ctx context.Context, by intake.By, id intake.ID, seen int, a intake.Amendment) (intake.Item, error) {
	return intake.Item{}, errSoon
}
func (i Items) AddPart(ctx context.Context, by intake.By, whole intake.ID, name string) (intake.Item, error) {
	return intake.Item{}, errSoon
}
func (i Items) Void(ctx context.Context, by intake.By, id intake.ID, why string) error {
	return errSoon
}

type Codes struct{ DB *DB }

func (c Codes) Blank(ctx context.Context, by intake.By, n int) ([]intake.Code, error) {
	return nil, errSoon
}
func (c Codes) For(ctx context.Context, by intake.By, item intake.ID) (intake.Code, error) {
	return "", errSoon
}
func (c Codes) Resolve(ctx context.Context, code intake.Code) (Target, error) {
	return Target{}, errSoon
}
func (c Codes) Untagged(ctx context.Context) ([]intake.Item, error)             { return nil, errSoon }
func (c Codes) Printed(ctx context.Context, by intake.By, prints []Print) error { return errSoon }
func (c Codes) Addresses(ctx context.Context) (map[string]int, error)           { return nil, errSoon }
func (c Codes) Replace(ctx context.Context, by intake.By, old intake.Code, why string) (intake.Code, error) {
	return "", errSoon
}
func (c Codes) Enter(ctx context.Context, by intake.By, code intake.Code) (intake.Item, error) {
	return intake.Item{}, errSoon
}

type History struct{ DB *DB }

func (h History) Of(ctx context.Context, kind, id string) ([]intake.Change, error) {
	return nil, errSoon
}
func (h History) Recent(ctx context.Context, n int) ([]intake.Change, error) { return nil, errSoon }
func (h History) Last(ctx context.Context, device string) (intake.Change, error) {
	return intake.Change{}, errSoon
}
func (h History) Undo(ctx context.Context, by intake.By, seq int64) (intake.Change, error) {
	return intake.Change{}, errSoon
}

type Devices struct{ DB *DB }

func (d Devices) Add(ctx context.Context, by intake.By, name, person, kind, secretHash string, expires time.Time) (Device, error) {
	return Device{}, errSoon
}
func (d Devices) BySecret(ctx context.Context, hash string) (Device, error) { return Device{}, errSoon }
func (d Devices) Seen(ctx context.Context, id intake.ID) error              { return errSoon }
func (d Devices) List(ctx context.Context) ([]Device, error)                { return nil, errSoon }
func (d Devices) Revoke(ctx context.Context, by intake.By, id intake.ID) error {
	return errSoon
}
