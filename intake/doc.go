// Package intake holds the nouns of haulbook and the one pipeline that every
// photo passes: hauls, photos, groups, items, parts, identifiers, accession
// numbers, tag codes, and who changed what.
//
// It knows what the words mean and which values are possible; it does not know
// how anything is stored, drawn, printed or served. It imports no database, no
// HTTP and no PDF. Storage, pictures and pages are adapters that import this
// package and satisfy the small interfaces declared beside their callers.
//
// It promises that numbers and codes parse back to what printed them, that a
// received photo is durable before it is known to the ledger, and that running
// any step twice leaves the same state as running it once.
package intake
