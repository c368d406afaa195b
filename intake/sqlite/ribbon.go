package sqlite

import (
	"cmp"
	"context"
	"database/sql"
	"fmt"
	"slices"

	"haulbook/intake"
)

// ribbon computes all groups of one haul.
func (b Bench) ribbon(ctx context.Context, tx *sql.Tx, haul intake.Haul) (all []intake.Group, waiting []intake.Group, err error) {
	p, err := loadPile(ctx, tx, haul)
	if err != nil {
		return nil, nil, err
	}
	bunches := b.bunches(p)
	p.promise(bunches)
	for _, each := range bunches {
		g := p.group(each)
		// Both lists hold the same groups with the same ids, so that a page may show
		// the whole ribbon and link the waiting ones.
		all = append(all, g)
		if p.waits(each) {
			waiting = append(waiting, g)
		}
	}
	return all, waiting, nil
}

// hauls returns the hauls that a bench method works on: the one named, or every
// open one that has photos nobody has read yet, oldest first.
func benchHauls(ctx context.Context, tx *sql.Tx, haul intake.ID, all bool) ([]intake.Haul, error) {
	// A haul named is shown even when it is closed: the keeper went to look for it.
	if haul != "" {
		one, err := haulOf(ctx, tx, string(haul))
		return []intake.Haul{one}, err
	}
	where := "h.state = 'open'"
	if !all {
		// A collection has many hauls open that are long done. Reading their photos only
		// to find nothing waiting would grow with the collection, not with the work.
		where += ` AND EXISTS (
			SELECT 1 FROM photos WHERE haul_id = h.id AND NOT settled AND forgotten_at IS NULL AND purpose = 'accession')`
	}
	hauls, err := collect(ctx, tx, scanHaul, haulColumns+where+newestHaulFirst)
	if err != nil {
		return nil, fmt.Errorf("read hauls: %w", err)
	}
	// Work goes on where it began: the oldest haul first.
	slices.Reverse(hauls)
	return hauls, nil
}

// waiting is Groups inside a transaction that has begun.
func (b Bench) waiting(ctx context.Context, tx *sql.Tx, haul intake.ID) ([]intake.Group, error) {
	return b.over(ctx, tx, haul, false)
}

// over strings the groups of several hauls together. Each group carries its haul
// with the count of groups that wait there, which no query could have counted.
func (b Bench) over(ctx context.Context, tx *sql.Tx, haul intake.ID, all bool) ([]intake.Group, error) {
	hauls, err := benchHauls(ctx, tx, haul, all)
	if err != nil {
		return nil, err
	}
	var groups []intake.Group
	for _, h := range hauls {
		every, waiting, err := b.ribbon(ctx, tx, h)
		if err != nil {
			return nil, err
		}
		if !all {
			every = waiting
		}
		for i := range every {
			every[i].Haul.Waiting = len(waiting)
		}
		groups = append(groups, every...)
	}
	slices.SortStableFunc(groups, func(a, b intake.Group) int { return cmp.Compare(late(a), late(b)) })
	return groups, nil
}

// late puts the undated tray behind everything else, also across hauls.
func late(g intake.Group) int {
	if g.Undated {
		return 1
	}
	return 0
}
