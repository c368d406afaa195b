package sqlite_test

import (
	"database/sql"
	"strings"
	"testing"
	"time"

	"haulbook/intake"
)

func TestDevicesComeAndGo(t *testing.T) {
	b := openBook(t)
	hash := func(c string) string { return strings.Repeat(c, 64) }
	phone := must(b.devices.Add(t.Context(), keeper, " phone\n", "Ada Quill", intake.KindKeeper, hash("a"), time.Time{}))(t)
	if phone.Name != "phone" || phone.Kind != intake.KindKeeper || !phone.Expires.IsZero() || phone.Paired.IsZero() {
		t.Errorf("paired %+v", phone)
	}
	if got := must(b.devices.BySecret(t.Context(), hash("a")))(t); got != phone {
		t.Errorf("found %+v, want %+v", got, phone)
	}
	_, err := b.devices.BySecret(t.Context(), hash("b"))
	wantErr(t, "a secret never given", err, intake.ErrNotFound)
	_, err = b.devices.Add(t.Context(), keeper, "copy", "", intake.KindKeeper, hash("a"), time.Time{})
	wantErr(t, "a secret given twice", err, intake.ErrConflict)
	for what, add := range map[string][2]string{"kind": {"guest", hash("c")}, "secret": {intake.KindHelper, "plain"}} {
		_, err = b.devices.Add(t.Context(), keeper, "x", "", add[0], add[1], time.Time{})
		wantErr(t, "a bad "+what, err, intake.ErrInvalid)
	}

	must(b.devices.Add(t.Context(), keeper, "helper", "Bo", intake.KindHelper, hash("d"), time.Date(2026, 5, 9, 18, 0, 1, 0, time.UTC)))(t)
	_, err = b.devices.BySecret(t.Context(), hash("d"))
	wantErr(t, "an expired device", err, intake.ErrNotFound)

	if err := b.devices.Revoke(t.Context(), keeper, phone.ID); err != nil {
		t.Fatal(err)
	}
	_, err = b.devices.BySecret(t.Context(), hash("a"))
	wantErr(t, "a revoked device", err, intake.ErrNotFound)
	changes := len(must(b.history.Recent(t.Context(), 100))(t))
	if err := b.devices.Revoke(t.Context(), keeper, phone.ID); err != nil {
		t.Errorf("revoking again: %v", err)
	}
	if n := len(must(b.history.Recent(t.Context(), 100))(t)); n != changes {
		t.Error("revoking again made another change")
	}
	wantErr(t, "revoking no device", b.devices.Revoke(t.Context(), keeper, "none"), intake.ErrNotFound)
	if all := must(b.devices.List(t.Context()))(t); len(all) != 2 || all[0].Name != "helper" || all[1].Revoked.IsZero() {
		t.Errorf("listed %+v", all)
	}

	raw := must(sql.Open("sqlite", b.path))(t)
	defer raw.Close()
	var said string
	if err := raw.QueryRowContext(t.Context(), "SELECT group_concat(summary || rows || op || why) FROM history").Scan(&said); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(said, "aaaa") || strings.Contains(said, "dddd") {
		t.Error("history holds a device's secret")
	}
}

// TestSeenIsWrittenSeldom: every write tells open pages to look again, and
// their looking is use.
func TestSeenIsWrittenSeldom(t *testing.T) {
	b := openBook(t)
	phone := must(b.devices.Add(t.Context(), keeper, "phone", "", intake.KindKeeper, strings.Repeat("a", 64), time.Time{}))(t)
	if err := b.devices.Seen(t.Context(), phone.ID); err != nil {
		t.Fatal(err)
	}
	before := must(b.Version(t.Context()))(t)
	if err := b.devices.Seen(t.Context(), phone.ID); err != nil {
		t.Fatal(err)
	}
	if after := must(b.Version(t.Context()))(t); after != before {
		t.Error("a second look within minutes was written")
	}
	clock := b.Now
	b.Now = func() time.Time { return clock().Add(time.Hour) }
	if err := b.devices.Seen(t.Context(), phone.ID); err != nil {
		t.Fatal(err)
	}
	if after := must(b.Version(t.Context()))(t); after == before {
		t.Error("a look an hour later was not written")
	}
	wantErr(t, "no device", b.devices.Seen(t.Context(), "none"), intake.ErrNotFound)
}
