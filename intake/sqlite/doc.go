// Package sqlite keeps the book's ledger in one SQLite file: photos, hauls,
// groups' cuts, items, numbers, tag codes, devices, and the history of every
// change. It holds one small struct per aggregate over one DB.
//
// It knows rows, transactions and how to take a change back. It does not know
// where originals lie, what pixels show, how a page looks or who may do what:
// callers pass the actor and have checked that it may act. Which photos belong
// together is computed by package grouping; only what a human said is stored.
//
// It promises that an exported method is one transaction; that a number once
// given is never given to another thing, whatever is undone, voided or killed in
// between; that an operation repeated with the same id is one change; that
// history is append only and holds photo ids but nothing that photos say; and
// that several processes may have the same book open.
package sqlite

import "haulbook/intake"

// Names for what passes between the ledger and its callers.
type (
	// Device is a paired browser.
	Device = intake.Device
	// Target is what a tag code leads to.
	Target = intake.Target
	// Print is one tag on its way to paper.
	Print = intake.Print
	// Camera is one body or phone, with its clock.
	Camera = intake.Camera
	// Correction is what a camera's clock is wrong by.
	Correction = intake.Correction
	// Stats is what the book counts of itself.
	Stats = intake.Stats
)
