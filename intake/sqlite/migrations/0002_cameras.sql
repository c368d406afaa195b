-- What the book knows around a photo: clocks, zones, and the files that belong to it.

-- The zone that photos were last resolved with, so that a change of the setting is noticed.
CREATE TABLE book (
	only INTEGER PRIMARY KEY CHECK (only = 1),
	zone TEXT NOT NULL DEFAULT ''
) STRICT;
INSERT INTO book (only) VALUES (1);

-- A correction is taken back by ended, never rewritten. When is in history.
ALTER TABLE clock_corrections DROP COLUMN ended_at;
ALTER TABLE clock_corrections ADD COLUMN ended INTEGER NOT NULL DEFAULT 0 CHECK (ended IN (0, 1));
CREATE INDEX clock_corrections_by_camera ON clock_corrections (camera_id, made_at);

ALTER TABLE photos ADD COLUMN gps_at TEXT;                             -- the satellites' clock, UTC
ALTER TABLE photos ADD COLUMN content_id TEXT NOT NULL DEFAULT '';     -- what a still and its film share
-- Derived from the above, the zones and the corrections; written anew when one of them changes.
ALTER TABLE photos ADD COLUMN taken_local TEXT;                        -- taken_wall, corrected
ALTER TABLE photos ADD COLUMN taken_line TEXT;                         -- what orders it in its haul
ALTER TABLE photos ADD COLUMN taken_doubt TEXT NOT NULL DEFAULT '';
ALTER TABLE photos ADD COLUMN correction_id TEXT REFERENCES clock_corrections;
UPDATE photos SET taken_local = taken_wall, taken_line = taken_wall;
CREATE INDEX photos_by_camera ON photos (camera_id, taken_wall) WHERE camera_id IS NOT NULL;
CREATE INDEX photos_by_content ON photos (content_id) WHERE content_id <> '';
CREATE INDEX photos_by_version ON photos (version_of) WHERE version_of IS NOT NULL;
CREATE INDEX photos_by_head ON photos (belongs_to) WHERE belongs_to IS NOT NULL;

-- Under which names the files of one shot may meet: every folder and stem that a photo came under.
CREATE TABLE stems (
	folder   TEXT NOT NULL,                    -- with its last separator
	stem     TEXT NOT NULL,                    -- lower case, without the extension
	photo_id TEXT NOT NULL REFERENCES photos,
	PRIMARY KEY (folder, stem, photo_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX stems_by_photo ON stems (photo_id);
INSERT OR IGNORE INTO stems (folder, stem, photo_id)
	SELECT folder, lower(CASE WHEN dot = '' THEN name ELSE substr(dot, 1, length(dot) - 1) END), photo_id FROM (
		SELECT folder, name, rtrim(name, replace(name, '.', '')) AS dot, photo_id FROM (
			SELECT rtrim(path, replace(path, '/', '')) AS folder,
				substr(path, length(rtrim(path, replace(path, '/', ''))) + 1) AS name, photo_id
			FROM arrivals WHERE photo_id IS NOT NULL AND outcome <> 'ignored'));

-- Files that are no photos and belong to one.
CREATE TABLE companions (
	id           TEXT PRIMARY KEY,             -- SHA-256 of the bytes
	photo_id     TEXT REFERENCES photos,       -- NULL: its photo has not come
	kind         TEXT NOT NULL CHECK (kind IN ('film', 'sidecar', 'thumbnail')),
	ext          TEXT NOT NULL,                -- what it is stored under, '.mov'
	name         TEXT NOT NULL,                -- as it first arrived; '' once forgotten, like all below
	size         INTEGER NOT NULL,
	received_at  TEXT NOT NULL,
	folder       TEXT NOT NULL,
	stem         TEXT NOT NULL,
	content_id   TEXT NOT NULL DEFAULT '',
	forgotten_at TEXT                          -- only the id is kept, against re-intake
) STRICT;
CREATE INDEX companions_by_photo ON companions (photo_id);
CREATE INDEX companions_by_stem ON companions (folder, stem);
CREATE INDEX companions_by_content ON companions (content_id) WHERE content_id <> '';

ALTER TABLE arrivals ADD COLUMN companion_id TEXT REFERENCES companions;
CREATE INDEX arrivals_by_companion ON arrivals (companion_id) WHERE companion_id IS NOT NULL;
