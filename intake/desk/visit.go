package desk

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"net/http"
	"net/netip"
	"strings"
	"time"

	"haulbook/intake"
)

// visit is what the frame found out about a request before any handler ran.
type visit struct {
	w      http.ResponseWriter // for the one header that Base has to set
	keeper bool
	person string
	device string    // name for people
	id     intake.ID // the device's id, "" for the book's own computer
}

type visitKey struct{}

// The names under which changes made at the book's own computer are noted.
const (
	ownPerson = "keeper"
	ownDevice = "this computer"
)

func visitOf(r *http.Request) *visit {
	if v, ok := r.Context().Value(visitKey{}).(*visit); ok {
		return v
	}
	return &visit{w: discard{http.Header{}}}
}

// Keeper reports whether the request may see and change everything: it comes
// from the book's own computer or carries the cookie of a paired device.
func Keeper(r *http.Request) bool { return visitOf(r).keeper }

// By returns who makes the change that r asks for. Op is the form value "op",
// which template function op makes, and Why is "why".
func By(r *http.Request) intake.By {
	v := visitOf(r)
	value := func(name string) string {
		if s := r.PostForm.Get(name); s != "" {
			return s
		}
		return r.URL.Query().Get(name)
	}
	return intake.By{Person: v.person, Device: v.device, Op: bounded(value("op"), 64), Why: bounded(value("why"), intake.MaxField)}
}

// bounded cuts s to at most n runes.
func bounded(s string, n int) string {
	for i := range s {
		if n == 0 {
			return s[:i]
		}
		n--
	}
	return s
}

// visit decides who is there. Only a peer and a Host that are both loopback,
// without any trace of a proxy, count as the book's own computer: a proxy on
// the same machine makes strangers look local.
func (f *Frame) visit(w http.ResponseWriter, r *http.Request) *visit {
	v := &visit{w: w}
	if loopbackPeer(r) && loopbackHost(hostName(r.Host)) && !forwarded(r) {
		v.keeper, v.person, v.device = true, ownPerson, ownDevice
		return v
	}
	if d, ok := f.paired(w, r); ok {
		v.keeper, v.person, v.device, v.id = true, d.Person, d.Name, d.ID
	}
	return v
}

// paired looks up the device whose cookie r carries. An error of the ledger
// leaves the visitor a stranger and is logged: closed is the right way to fail.
func (f *Frame) paired(w http.ResponseWriter, r *http.Request) (intake.Device, bool) {
	c, err := r.Cookie(f.cookieName())
	if err != nil || len(c.Value) != secretLength || f.config.Devices == nil {
		return intake.Device{}, false
	}
	d, err := f.config.Devices.BySecret(r.Context(), hashSecret(c.Value))
	if err != nil {
		if !errors.Is(err, intake.ErrNotFound) && !errors.Is(err, context.Canceled) {
			f.config.Log.Error("look up paired device", "err", err)
		}
		return intake.Device{}, false
	}
	if d.Kind != intake.KindKeeper {
		return intake.Device{}, false
	}
	f.noteSeen(w, r, d, c.Value)
	return d, true
}

// seenEvery is how often a device's last visit is written down. More often
// would turn every page view into a write.
const seenEvery = 10 * time.Minute

// noteSeen writes down the visit now and then, and hands the cookie out again
// so that a device in use never runs out of its 400 days.
func (f *Frame) noteSeen(w http.ResponseWriter, r *http.Request, d intake.Device, secret string) {
	now := f.config.Now()
	f.seenMu.Lock()
	due := now.Sub(f.seen[d.ID]) >= seenEvery
	if due {
		f.seen[d.ID] = now
	}
	f.seenMu.Unlock()
	if !due {
		return
	}
	if err := f.config.Devices.Seen(r.Context(), d.ID); err != nil && !errors.Is(err, context.Canceled) {
		f.config.Log.Error("note visit of device", "device", d.ID, "err", err)
	}
	http.SetCookie(w, f.cookie(secret))
}

// secretLength is 32 bytes in unpadded base64url.
const secretLength = 43

// hashSecret is what is stored of a cookie: whoever reads the book's file or a
// backup of it cannot log in with it.
func hashSecret(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

// cookieLife is the longest that browsers keep a cookie (RFC 6265bis, section
// 5.5: 400 days).
const cookieLife = 400 * 24 * time.Hour

// cookie is Lax, not Strict: a tag scanned with a camera app is a navigation
// from outside, and must find the keeper logged in. Secure is off because the
// desk speaks plain HTTP on a private network.
func (f *Frame) cookie(secret string) *http.Cookie {
	return &http.Cookie{
		Name: f.cookieName(), Value: secret, Path: "/", MaxAge: int(cookieLife / time.Second),
		HttpOnly: true, SameSite: http.SameSiteLaxMode,
	}
}

func (f *Frame) cookieName() string { return "hb_" + f.config.Book }

// cookieToken keeps what may stand in a cookie's name.
func cookieToken(s string) string {
	return strings.Map(func(r rune) rune {
		if '0' <= r && r <= '9' || 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z' {
			return r
		}
		return -1
	}, s)
}

func loopbackPeer(r *http.Request) bool {
	peer, err := netip.ParseAddrPort(r.RemoteAddr)
	return err == nil && peer.Addr().Unmap().IsLoopback()
}

// forwarded reports whether anything says that the peer speaks for another.
func forwarded(r *http.Request) bool {
	for name := range r.Header {
		switch {
		case strings.HasPrefix(name, "X-Forwarded"), name == "Forwarded", name == "Via", name == "X-Real-Ip":
			return true
		}
	}
	return false
}
