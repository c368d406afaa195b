-- The book's first schema. Append-only: never edit a migration that has been released.
-- Times ending in _at are UTC, RFC 3339. Money is minor units beside an ISO 4217 code.
-- Mass is grams, sizes are millimetres, NULL means unknown. Text is NFC.
-- An id is sixteen characters of base 32; a photo's id is the SHA-256 of its bytes in hex.

CREATE TABLE hauls (
	id             TEXT PRIMARY KEY,
	year           INTEGER NOT NULL,
	seq            INTEGER NOT NULL,
	name           TEXT NOT NULL,
	source         TEXT NOT NULL DEFAULT '',
	occasion       TEXT NOT NULL DEFAULT '',
	acquired       TEXT NOT NULL DEFAULT '',   -- as known: 2026-05-09, "about 1998"
	price_minor    INTEGER,
	price_currency TEXT,
	zone           TEXT NOT NULL DEFAULT '',   -- IANA name; '' follows the book
	notes          TEXT NOT NULL DEFAULT '',
	state          TEXT NOT NULL DEFAULT 'open' CHECK (state IN ('open', 'closed', 'void')),
	opened_at      TEXT NOT NULL,
	version        INTEGER NOT NULL DEFAULT 1,
	UNIQUE (year, seq),
	CHECK ((price_minor IS NULL) = (price_currency IS NULL))
) STRICT;
CREATE INDEX hauls_by_name ON hauls (name);

CREATE TABLE cameras (
	id     TEXT PRIMARY KEY,
	make   TEXT NOT NULL,
	model  TEXT NOT NULL,
	serial TEXT NOT NULL,
	name   TEXT NOT NULL,                       -- what people call it
	zone   TEXT NOT NULL DEFAULT '',
	UNIQUE (make, model, serial)
) STRICT;

-- A camera's clock is corrected from a moment on; a correction is taken back by ended_at, never rewritten.
CREATE TABLE clock_corrections (
	id          TEXT PRIMARY KEY,
	camera_id   TEXT NOT NULL REFERENCES cameras,
	from_wall   TEXT NOT NULL,
	to_wall     TEXT,
	shift_ms    INTEGER NOT NULL,               -- true time minus camera time
	doubt_ms    INTEGER,
	how         TEXT NOT NULL,                  -- 'typed', 'clock page', 'estimated'
	photo_id    TEXT REFERENCES photos,
	made_at     TEXT NOT NULL,
	ended_at    TEXT
) STRICT;

CREATE TABLE photos (
	id            TEXT PRIMARY KEY,
	name          TEXT NOT NULL,                -- as it first arrived; '' once forgotten
	format        TEXT NOT NULL,
	size          INTEGER NOT NULL,
	received_at   TEXT NOT NULL,
	haul_id       TEXT REFERENCES hauls,
	camera_id     TEXT REFERENCES cameras,
	purpose       TEXT NOT NULL DEFAULT 'accession'
	              CHECK (purpose IN ('accession', 'placing', 'clock', 'divider', 'left-out')),
	role          TEXT CHECK (role IN ('view', 'detail', 'plate', 'tag')),  -- set by a human
	damage        TEXT NOT NULL DEFAULT '',
	width         INTEGER,
	height        INTEGER,
	orientation   INTEGER NOT NULL DEFAULT 1,   -- turns the stored pixels upright
	exif_orientation INTEGER,
	taken_raw     TEXT NOT NULL DEFAULT '',     -- the three strings as written
	taken_subsec  TEXT NOT NULL DEFAULT '',
	taken_offset_raw TEXT NOT NULL DEFAULT '',
	taken_tag     TEXT NOT NULL DEFAULT '',     -- which tag won
	taken_wall    TEXT,                         -- 2006-01-02T15:04:05.000, NULL unknown
	taken_offset  TEXT NOT NULL DEFAULT '',     -- +01:00
	taken_at      TEXT,                         -- UTC, when a zone is known
	zone          TEXT NOT NULL DEFAULT '',
	zone_from     TEXT NOT NULL DEFAULT '' CHECK (zone_from IN ('', 'offset', 'position', 'haul', 'camera', 'book')),
	lens          TEXT NOT NULL DEFAULT '',
	latitude      REAL,
	longitude     REAL,
	picture_hash  TEXT,                         -- of the image data alone
	version_of    TEXT REFERENCES photos,       -- same picture, other bytes
	belongs_to    TEXT REFERENCES photos,       -- sidecar, RAW twin, live video
	look          TEXT NOT NULL DEFAULT 'pending' CHECK (look IN ('pending', 'done', 'failed')),
	settled       INTEGER NOT NULL DEFAULT 0,   -- belongs to a numbered item; kept by the triggers below
	forgotten_at  TEXT                          -- only the id is kept, against re-intake
) STRICT;
CREATE INDEX photos_by_haul ON photos (haul_id, taken_wall, id);
CREATE INDEX photos_to_look ON photos (look) WHERE look = 'pending';
CREATE INDEX photos_kept ON photos (haul_id) WHERE forgotten_at IS NULL;
CREATE INDEX photos_waiting ON photos (haul_id, taken_wall) WHERE NOT settled AND forgotten_at IS NULL AND purpose = 'accession';
CREATE INDEX photos_by_picture ON photos (picture_hash) WHERE picture_hash IS NOT NULL;

CREATE TABLE seen_codes (
	photo_id  TEXT NOT NULL REFERENCES photos,
	ord       INTEGER NOT NULL,
	text      TEXT NOT NULL,
	symbology TEXT NOT NULL,
	code      TEXT,                             -- our own tag's code, NULL for any other text
	share     REAL NOT NULL DEFAULT 0,
	x         REAL NOT NULL DEFAULT 0,
	y         REAL NOT NULL DEFAULT 0,
	PRIMARY KEY (photo_id, ord)
) STRICT, WITHOUT ROWID;
CREATE INDEX seen_codes_by_code ON seen_codes (code) WHERE code IS NOT NULL;

-- What the inboxes held, so that an unchanged file is not hashed again. Decides nothing.
CREATE TABLE arrivals (
	path       TEXT PRIMARY KEY,
	size       INTEGER NOT NULL,
	modified_ns INTEGER NOT NULL,
	photo_id   TEXT REFERENCES photos,
	outcome    TEXT NOT NULL CHECK (outcome IN ('added', 'duplicate', 'version', 'ignored', 'unreadable')),
	reason     TEXT NOT NULL DEFAULT '',
	haul_name  TEXT NOT NULL DEFAULT '',
	seen_at    TEXT NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX arrivals_by_photo ON arrivals (photo_id);

-- The human's boundaries: before this photo there is a cut, or there is none.
CREATE TABLE cuts (
	photo_id TEXT PRIMARY KEY REFERENCES photos,
	cut      INTEGER NOT NULL CHECK (cut IN (0, 1))
) STRICT, WITHOUT ROWID;

CREATE TABLE items (
	id             TEXT PRIMARY KEY,
	haul_id        TEXT REFERENCES hauls,        -- a field of its own: the number stays when it changes
	parent_id      TEXT REFERENCES items,        -- a part's whole
	state          TEXT NOT NULL CHECK (state IN ('entered', 'accessioned', 'withdrawn', 'void')),
	name           TEXT NOT NULL DEFAULT '',
	maker          TEXT NOT NULL DEFAULT '',
	model          TEXT NOT NULL DEFAULT '',
	quantity       INTEGER NOT NULL DEFAULT 1,
	mass_g         INTEGER,
	width_mm       INTEGER,
	depth_mm       INTEGER,
	height_mm      INTEGER,
	owner          TEXT NOT NULL DEFAULT '',
	source         TEXT NOT NULL DEFAULT '',
	acquired       TEXT NOT NULL DEFAULT '',
	price_minor    INTEGER,
	price_currency TEXT,
	normal_place_id TEXT REFERENCES places,
	public         INTEGER NOT NULL DEFAULT 0 CHECK (public IN (0, 1)),
	notes          TEXT NOT NULL DEFAULT '',
	successor_id   TEXT REFERENCES items,        -- where the record went on
	successor_why  TEXT NOT NULL DEFAULT '',
	entered_at     TEXT NOT NULL,
	accessioned_at TEXT,
	version        INTEGER NOT NULL DEFAULT 1,
	CHECK ((price_minor IS NULL) = (price_currency IS NULL))
) STRICT;
CREATE INDEX items_by_haul ON items (haul_id, state, parent_id);
CREATE INDEX items_by_parent ON items (parent_id) WHERE parent_id IS NOT NULL;
CREATE INDEX items_by_make ON items (maker, model);
CREATE INDEX items_by_model ON items (model);
CREATE INDEX items_by_name ON items (name);

-- A number row is never deleted. Withdrawn: undone, and kept for the same item. Void: never to be used.
CREATE TABLE numbers (
	year    INTEGER NOT NULL,
	haul    INTEGER NOT NULL,
	item    INTEGER NOT NULL,
	part    INTEGER NOT NULL DEFAULT 0,
	item_id TEXT NOT NULL UNIQUE REFERENCES items,
	state   TEXT NOT NULL CHECK (state IN ('given', 'withdrawn', 'void')),
	PRIMARY KEY (year, haul, item, part)
) STRICT, WITHOUT ROWID;
CREATE TRIGGER numbers_are_kept BEFORE DELETE ON numbers
	BEGIN SELECT RAISE(ABORT, 'a number is never deleted'); END;
CREATE TRIGGER numbers_do_not_move BEFORE UPDATE OF year, haul, item, part, item_id ON numbers
	BEGIN SELECT RAISE(ABORT, 'a number never changes'); END;

-- Photos and things, many to many.
CREATE TABLE item_photos (
	item_id  TEXT NOT NULL REFERENCES items,
	photo_id TEXT NOT NULL REFERENCES photos,
	role     TEXT CHECK (role IN ('view', 'detail', 'plate', 'tag')),
	PRIMARY KEY (item_id, photo_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX item_photos_by_photo ON item_photos (photo_id);

-- Which photos still wait is asked by every page, and a collection has many hauls that are long done.
CREATE TRIGGER photo_linked AFTER INSERT ON item_photos BEGIN
	UPDATE photos SET settled = EXISTS (
		SELECT 1 FROM item_photos l JOIN items i ON i.id = l.item_id WHERE l.photo_id = photos.id AND i.state IN ('accessioned', 'void')
	) WHERE id = new.photo_id;
END;
CREATE TRIGGER photo_unlinked AFTER DELETE ON item_photos BEGIN
	UPDATE photos SET settled = EXISTS (
		SELECT 1 FROM item_photos l JOIN items i ON i.id = l.item_id WHERE l.photo_id = photos.id AND i.state IN ('accessioned', 'void')
	) WHERE id = old.photo_id;
END;
CREATE TRIGGER item_settled AFTER UPDATE OF state ON items WHEN old.state <> new.state BEGIN
	UPDATE photos SET settled = EXISTS (
		SELECT 1 FROM item_photos l JOIN items i ON i.id = l.item_id WHERE l.photo_id = photos.id AND i.state IN ('accessioned', 'void')
	) WHERE id IN (SELECT photo_id FROM item_photos WHERE item_id = new.id);
END;

-- From which photos a plate was read. Undo leaves it alone: it is how an undone
-- number finds its way back to the same thing.
CREATE TABLE read_from (
	item_id  TEXT NOT NULL REFERENCES items,
	photo_id TEXT NOT NULL REFERENCES photos,
	PRIMARY KEY (item_id, photo_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX read_from_by_photo ON read_from (photo_id);

-- Overviews: a photo that shows a whole haul.
CREATE TABLE haul_photos (
	haul_id  TEXT NOT NULL REFERENCES hauls,
	photo_id TEXT NOT NULL REFERENCES photos,
	PRIMARY KEY (haul_id, photo_id)
) STRICT, WITHOUT ROWID;

CREATE TABLE identifiers (
	id       TEXT PRIMARY KEY,
	item_id  TEXT NOT NULL REFERENCES items,
	kind     TEXT NOT NULL,
	text     TEXT NOT NULL,                     -- exactly as read, ? for what could not be
	folded   TEXT NOT NULL,                     -- the search key, look-alikes as one
	place_on TEXT NOT NULL DEFAULT '',          -- where it stands on the thing
	photo_id TEXT REFERENCES photos,
	doubt    TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX identifiers_by_item ON identifiers (item_id);
CREATE INDEX identifiers_by_folded ON identifiers (folded);

CREATE TABLE places (
	id         TEXT PRIMARY KEY,
	parent_id  TEXT REFERENCES places,
	kind       TEXT NOT NULL,                   -- building, room, bay, shelf, box
	name       TEXT NOT NULL,
	unsuitable TEXT NOT NULL DEFAULT '',
	tare_g     INTEGER,
	state      TEXT NOT NULL DEFAULT 'open' CHECK (state IN ('open', 'void')),
	version    INTEGER NOT NULL DEFAULT 1
) STRICT;
CREATE INDEX places_by_parent ON places (parent_id);

-- From, to, when, by whom, why; never overwritten. Where a thing is follows from its last movement.
CREATE TABLE movements (
	id         INTEGER PRIMARY KEY AUTOINCREMENT,
	item_id    TEXT REFERENCES items,
	place_id   TEXT REFERENCES places,          -- a box that moved; exactly one of the two
	from_id    TEXT REFERENCES places,          -- NULL unknown
	to_id      TEXT REFERENCES places,          -- NULL unknown
	moved_at   TEXT NOT NULL,
	person     TEXT NOT NULL,
	why        TEXT NOT NULL DEFAULT '',
	photo_id   TEXT REFERENCES photos,
	taken_back INTEGER NOT NULL DEFAULT 0 CHECK (taken_back IN (0, 1)),
	CHECK ((item_id IS NULL) <> (place_id IS NULL))
) STRICT;
CREATE INDEX movements_by_item ON movements (item_id, moved_at, id) WHERE item_id IS NOT NULL;
CREATE INDEX movements_by_place ON movements (place_id, moved_at, id) WHERE place_id IS NOT NULL;

-- Tag codes: tied to an item, a place, a divider, or to nothing yet. A row is never deleted.
CREATE TABLE codes (
	code      TEXT PRIMARY KEY,
	item_id   TEXT REFERENCES items,
	place_id  TEXT REFERENCES places,
	divider   INTEGER NOT NULL DEFAULT 0 CHECK (divider IN (0, 1)),
	successor TEXT REFERENCES codes,            -- the tag that replaced this one
	reason    TEXT NOT NULL DEFAULT '',
	made_at   TEXT NOT NULL,
	CHECK ((item_id IS NOT NULL) + (place_id IS NOT NULL) + divider <= 1)
) STRICT, WITHOUT ROWID;
CREATE INDEX codes_by_item ON codes (item_id) WHERE item_id IS NOT NULL;
CREATE INDEX codes_by_place ON codes (place_id) WHERE place_id IS NOT NULL;
CREATE TRIGGER codes_are_kept BEFORE DELETE ON codes
	BEGIN SELECT RAISE(ABORT, 'a code is never deleted'); END;

CREATE TABLE prints (
	id         INTEGER PRIMARY KEY AUTOINCREMENT,
	code       TEXT NOT NULL REFERENCES codes,
	stock      TEXT NOT NULL,
	address    TEXT NOT NULL,
	printed_at TEXT NOT NULL,
	person     TEXT NOT NULL
) STRICT;
CREATE INDEX prints_by_code ON prints (code, printed_at);

CREATE TABLE devices (
	id         TEXT PRIMARY KEY,
	name       TEXT NOT NULL,
	person     TEXT NOT NULL,
	kind       TEXT NOT NULL CHECK (kind IN ('keeper', 'helper')),
	secret     TEXT NOT NULL UNIQUE,            -- SHA-256 of the cookie, never the cookie
	paired_at  TEXT NOT NULL,
	seen_at    TEXT,
	expires_at TEXT,
	revoked_at TEXT
) STRICT;

-- Every change of the book: who, when, why, what, and the row images that undo works from.
CREATE TABLE history (
	seq          INTEGER PRIMARY KEY AUTOINCREMENT,
	at           TEXT NOT NULL,
	person       TEXT NOT NULL,
	device       TEXT NOT NULL,
	op           TEXT NOT NULL UNIQUE,          -- made by the client: a repeat is one change
	act          TEXT NOT NULL,
	subject_kind TEXT NOT NULL,
	subject_id   TEXT NOT NULL,
	summary      TEXT NOT NULL,
	why          TEXT NOT NULL DEFAULT '',
	rows         TEXT NOT NULL DEFAULT '[]',    -- JSON: [{table, key, before, after}]
	lasting      INTEGER NOT NULL DEFAULT 0 CHECK (lasting IN (0, 1)),  -- cannot be taken back: paper, forgetting
	undoes       INTEGER REFERENCES history
) STRICT;
CREATE INDEX history_by_subject ON history (subject_kind, subject_id, seq);
CREATE INDEX history_by_device ON history (device, seq);
CREATE UNIQUE INDEX history_undone_once ON history (undoes) WHERE undoes IS NOT NULL;
CREATE TRIGGER history_is_kept BEFORE DELETE ON history
	BEGIN SELECT RAISE(ABORT, 'history is append only'); END;
CREATE TRIGGER history_is_written_once BEFORE UPDATE ON history
	BEGIN SELECT RAISE(ABORT, 'history is append only'); END;

-- Words of items for the search box; rebuilt from the rows above for each item that changes.
-- A table of its own ties them to items, because VACUUM may renumber the rowids of items.
CREATE TABLE worded (
	row     INTEGER PRIMARY KEY,
	item_id TEXT NOT NULL UNIQUE REFERENCES items
) STRICT;
CREATE VIRTUAL TABLE item_words USING fts5 (
	numbers, names, serials, hauls,
	tokenize = "unicode61 remove_diacritics 2"
);
