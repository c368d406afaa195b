package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"haulbook/intake"
)

// The acts, as history names them. Scripts and pages compare them; never reword.
const (
	actReceived  = "photo received"
	actForgotten = "photo forgotten"
	actRole      = "role set"
	actPurpose   = "purpose set"
	actHaul      = "haul opened"
	actHaulEdit  = "haul amended"
	actRead      = "plate read"
	actCut       = "cut"
	actJoined    = "joined"
	actAttached  = "photos attached"
	actAmended   = "item amended"
	actPart      = "part added"
	actVoided    = "voided"
	actTag       = "tag made"
	actBlank     = "blank tags made"
	actPrinted   = "tags printed"
	actReplaced  = "tag replaced"
	actEntered   = "item entered"
	actTagSeen   = "tag seen"
	actPaired    = "device paired"
	actRevoked   = "device revoked"
	actCamera    = "camera amended"
	actClock     = "clock corrected"
	actClockRead = "clock read"
	actClockEnd  = "correction taken back"
	actZone      = "zone set"
	actUndone    = "undone"
	actRedone    = "done again"
)

// change is one change in the making: the one way in which anything that
// history knows is written. A writer has three steps: about, touch, then write.
// The before images are taken by touch and the after images by finish, so no
// writer describes its own work, and none can describe it wrongly.
type change struct {
	db      *DB
	tx      *sql.Tx
	by      intake.By
	at      time.Time
	act     string
	subject intake.Subject
	summary string
	undoes  int64
	// lasting changes stay: what is on paper or forgotten cannot be taken back.
	lasting bool
	// next is what follows from this change by itself, made in the same transaction
	// as a change of its own, so that it can be taken back alone.
	next    func(context.Context, *change) error
	nextAct string
	rows    []*rowChange
	seen    map[string]bool
}

// write makes one change in one immediate transaction. When by.Op was used
// before, do is not called and the earlier change is returned: a repeat is one
// change. A do that names no subject, or changes no row, leaves no history.
func (db *DB) write(ctx context.Context, by intake.By, act string, do func(*change) error) (intake.Change, error) {
	tx, err := db.writer.BeginTx(ctx, nil)
	if err != nil {
		return intake.Change{}, fmt.Errorf("begin: %w", err)
	}
	defer tx.Rollback()
	if by.Op == "" {
		by.Op = string(intake.NewID())
	} else if earlier, err := changeOf(ctx, tx, by.Op); err == nil {
		// An op that meant something else is a client gone wrong. Answering with the
		// other change would tell it that its own was done.
		if earlier.Act != act && !(act == actUndone && earlier.Act == actRedone) {
			return earlier, fmt.Errorf("operation %.40q was used before, for another change (%s): %w", by.Op, earlier.Act, intake.ErrConflict)
		}
		return earlier, nil
	} else if !errors.Is(err, intake.ErrNotFound) {
		return intake.Change{}, err
	}
	c := &change{db: db, tx: tx, by: by, at: db.Now().UTC(), act: act, seen: map[string]bool{}}
	if err := do(c); err != nil {
		return intake.Change{}, err
	}
	done, err := c.finish(ctx)
	if err != nil {
		return intake.Change{}, err
	}
	if c.next != nil {
		by.Op = string(intake.NewID())
		then := &change{db: db, tx: tx, by: by, at: c.at, act: c.nextAct, seen: map[string]bool{}}
		if err := c.next(ctx, then); err != nil {
			return intake.Change{}, err
		}
		if _, err := then.finish(ctx); err != nil {
			return intake.Change{}, err
		}
	}
	if err := tx.Commit(); err != nil {
		return intake.Change{}, fmt.Errorf("commit: %w", err)
	}
	return done, nil
}

// about names what the change is about and says it in a sentence for people.
func (c *change) about(kind, id, format string, args ...any) {
	c.subject, c.summary = intake.Subject{Kind: kind, ID: id}, fmt.Sprintf(format, args...)
}

// touch notes how a row looks before this change writes it. The key's values
// stand in the order of the table's key columns.
func (c *change) touch(ctx context.Context, name string, key ...any) error {
	t, err := tableNamed(name)
	if err != nil {
		return err
	}
	row := &rowChange{Table: name, Key: image{}}
	for i, column := range t.key {
		row.Key[column] = plain(key[i])
	}
	// The first look counts: what this change itself wrote in between is no state
	// that undo should ever return to.
	id := fmt.Sprint(name, key)
	if c.seen[id] {
		return nil
	}
	c.seen[id] = true
	if row.Before, err = t.read(ctx, c.tx, row.Key); err != nil {
		return err
	}
	c.rows = append(c.rows, row)
	return nil
}

// plain turns the domain's names into what the database and JSON return.
func plain(v any) any {
	switch v := v.(type) {
	case intake.ID:
		return string(v)
	case intake.Code:
		return string(v)
	case intake.PhotoID:
		return v.String()
	case int:
		return int64(v)
	}
	return v
}

// exec takes the domain's names as arguments, so that no caller has to remember
// how each is stored. Booleans and NULLs pass through: the driver stores the
// first as 0 and 1, which is how the images read them back.
func (c *change) exec(ctx context.Context, query string, args ...any) error {
	for i := range args {
		args[i] = plain(args[i])
	}
	_, err := c.tx.ExecContext(ctx, query, args...)
	return err
}

// finish reads the rows as they are now, counts versions, renews the search
// words and writes the history row, all inside the change's transaction.
func (c *change) finish(ctx context.Context) (intake.Change, error) {
	if c.subject.Kind == "" {
		return intake.Change{}, nil
	}
	changed := []*rowChange{} // not nil: JSON shall say [] and not null
	for _, row := range c.rows {
		t, err := tableNamed(row.Table)
		if err != nil {
			return intake.Change{}, err
		}
		// Rows that were touched and came out as they were are no part of the change:
		// an undo of it must not fail because somebody else changed them later.
		if row.After, err = t.read(ctx, c.tx, row.Key); err != nil {
			return intake.Change{}, err
		}
		if (row.Before == nil) != (row.After == nil) || !row.Before.same(row.After) {
			changed = append(changed, row)
		}
	}
	if len(changed) == 0 && !c.lasting {
		// Saying what is so already is no change, and leaves nothing to undo.
		return intake.Change{}, nil
	}
	if err := c.follow(ctx, changed); err != nil {
		return intake.Change{}, err
	}
	return c.record(ctx, changed)
}

// record writes the change's one history row.
func (c *change) record(ctx context.Context, changed []*rowChange) (intake.Change, error) {
	rows, err := json.Marshal(changed)
	if err != nil {
		return intake.Change{}, fmt.Errorf("note the change: %w", err)
	}
	result, err := c.tx.ExecContext(ctx, `
		INSERT INTO history (at, person, device, op, act, subject_kind, subject_id, summary, why, rows, undoes, lasting)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		stamp(c.at), c.by.Person, c.by.Device, c.by.Op, c.act, c.subject.Kind, c.subject.ID, c.summary, c.by.Why,
		string(rows), sql.NullInt64{Int64: c.undoes, Valid: c.undoes != 0}, c.lasting)
	if err != nil {
		return intake.Change{}, fmt.Errorf("note the change: %w", err)
	}
	seq, err := result.LastInsertId()
	return intake.Change{
		Seq: seq, At: c.at, By: c.by, Act: c.act, Subject: c.subject, Summary: c.summary,
		Undoes: c.undoes, Undoable: !c.lasting,
	}, err
}
