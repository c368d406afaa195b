// Package pictures decodes a photo once and makes of that one decode all that
// the rest of haulbook wants from its pixels: upright previews that carry no
// metadata, and the codes in view with where they are.
//
// It knows picture formats, turning, shrinking and code symbologies. It does not
// know books, items or tags: what a code's text means is decided elsewhere, and
// originals are only ever read. Previews are disposable; any of them can be made
// again from its original.
//
// It promises to look at a file's header before it decodes and to refuse what
// would take too much memory, to keep all decodes at once below one budget, to
// leave either a whole preview or none, and never to panic on any bytes. HEIC is
// decoded only in a separate process, the worker, which is ended when it is slow.
package pictures
