package desk

import (
	"context"
	"crypto/rand"
	"encoding/base64"
	"fmt"
	"html/template"
	"net/http"
	"strings"
	"time"

	"haulbook/intake"
)

// Devices keeps the paired devices.
type Devices interface {
	// Add enters a device. secretHash is the hex SHA-256 of its cookie; a zero
	// expires means that it stays until revoked.
	Add(ctx context.Context, by intake.By, name, person, kind, secretHash string, expires time.Time) (intake.Device, error)
	// BySecret finds a device that is neither revoked nor expired, or returns
	// intake.ErrNotFound.
	BySecret(ctx context.Context, secretHash string) (intake.Device, error)
	// Seen notes that the device was here. It is no change of the book.
	Seen(ctx context.Context, id intake.ID) error
	// List returns the devices, revoked ones too.
	List(ctx context.Context) ([]intake.Device, error)
	// Revoke shuts a device out for good. Repeating it changes nothing.
	Revoke(ctx context.Context, by intake.By, id intake.ID) error
}

func (f *Frame) deviceRoutes() {
	f.Keeper("GET /devices", f.listDevices)
	f.Keeper("POST /devices/pair", f.offerPairing)
	f.Keeper("POST /devices/{id}/revoke", f.revokeDevice)
	// Scanned from a QR in upper case, typed in lower case.
	for _, path := range []string{"/pair/{code}", "/PAIR/{code}"} {
		f.Anyone("GET "+path, f.askPairing)
		f.Anyone("POST "+path, f.acceptPairing)
	}
}

// devicesPage is the page struct of devices.html.
type devicesPage struct {
	Base
	Devices   []intake.Device
	Own       intake.ID // of the device that looks at the page
	Addresses []string
	Reachable bool // the tags' address can be reached by a phone
}

func (f *Frame) listDevices(w http.ResponseWriter, r *http.Request) error {
	page := devicesPage{Base: f.Base(r, "Devices", "devices"), Own: visitOf(r).id, Reachable: f.reachable()}
	if f.config.Devices != nil {
		all, err := f.config.Devices.List(r.Context())
		if err != nil {
			return fmt.Errorf("list devices: %w", err)
		}
		for _, d := range all {
			if d.Revoked.IsZero() && (d.Expires.IsZero() || f.config.Now().Before(d.Expires)) {
				page.Devices = append(page.Devices, d)
			}
		}
	}
	if !page.Reachable {
		page.Addresses = f.offeredAddresses(r)
	}
	return f.pages.Render(w, http.StatusOK, "devices", page)
}

func (f *Frame) reachable() bool {
	address := f.config.Address()
	return address != "" && !Loopback(address)
}

// offeredAddresses are the ways in which a phone on the same network may reach
// this desk, with the port the keeper's own browser used.
func (f *Frame) offeredAddresses(r *http.Request) []string {
	port := ""
	if _, p, found := strings.Cut(r.Host[strings.LastIndexByte(r.Host, ']')+1:], ":"); found {
		port = ":" + p
	}
	var offered []string
	for _, ip := range NetworkAddresses() {
		offered = append(offered, "http://"+ip.String()+port)
	}
	return offered
}

// pairPage is the page struct of pair.html: the QR for the phone to scan.
type pairPage struct {
	Base
	URL     string
	Offered string       // the address chosen, to show a new code for
	QR      template.URL // PNG as a data: URL, made by us
	Side    int          // its pixels
	Left    int          // seconds until the code is over; the browser's own clock may be wrong
}

// offerPairing makes a pairing code. The page is the answer to the POST itself:
// behind a redirect the code would stand in the browser's history.
func (f *Frame) offerPairing(w http.ResponseWriter, r *http.Request) error {
	if f.config.Devices == nil {
		return &Refusal{Status: http.StatusConflict, Title: "Nobody can pair", Text: "This desk runs without a list of devices."}
	}
	address := f.config.Address()
	if !f.reachable() {
		address = ""
		for _, offered := range f.offeredAddresses(r) {
			if offered == r.PostForm.Get("address") {
				address = offered
			}
		}
	}
	if address == "" {
		return f.listDevices(w, r) // which explains, and offers what was found
	}
	code, until := f.pairing.offer(visitOf(r).person)
	url := pairURL(address, code)
	qr, side, err := drawQR(url)
	if err != nil {
		return fmt.Errorf("draw pairing code: %w", err)
	}
	w.Header().Set("Cache-Control", "no-store")
	return f.pages.Render(w, http.StatusOK, "pair", pairPage{
		Base: f.Base(r, "Pair a phone", "devices"), URL: url, Offered: address, QR: qr, Side: side, Left: int(until.Sub(f.config.Now()).Seconds()),
	})
}

// revokeDevice shuts a device out.
func (f *Frame) revokeDevice(w http.ResponseWriter, r *http.Request) error {
	if f.config.Devices == nil {
		return intake.ErrNotFound
	}
	if err := f.config.Devices.Revoke(r.Context(), By(r), intake.ID(r.PathValue("id"))); err != nil {
		return fmt.Errorf("revoke device: %w", err)
	}
	f.SetFlash(w, Flash{Text: "The device can no longer open the book."})
	http.Redirect(w, r, "/devices", http.StatusSeeOther)
	return nil
}

// askPage is the page struct of ask.html, seen on the phone.
type askPage struct {
	Base
	Code  string
	Name  string // proposed
	Error string
}

var errPairing = &Refusal{
	Status: http.StatusNotFound, Title: "This code does not pair",
	Text: "A pairing code works once and for five minutes. Show a new one at the computer that keeps the book, under Devices.",
}

// tooMany is what somebody sees who tries too many codes.
func tooMany(wait time.Duration) *Refusal {
	return &Refusal{
		Status: http.StatusTooManyRequests, Title: "Too many tries", RetryAfter: wait,
		Text: "Wait a few minutes and try again.",
	}
}

// askPairing only asks. Opening a link changes nothing, whoever sent it.
func (f *Frame) askPairing(w http.ResponseWriter, r *http.Request) error {
	code := r.PathValue("code")
	if err := f.pairing.check(r, code); err != nil {
		return err
	}
	w.Header().Set("Cache-Control", "no-store")
	return f.pages.Render(w, http.StatusOK, "ask", askPage{Base: f.Base(r, "Pair this device", ""), Code: code})
}

// acceptPairing uses the code up, enters the device and hands out its cookie.
func (f *Frame) acceptPairing(w http.ResponseWriter, r *http.Request) error {
	code := r.PathValue("code")
	if err := f.pairing.check(r, code); err != nil {
		return err
	}
	name, err := intake.CleanLine("name", r.PostForm.Get("name"))
	if err == nil && name == "" {
		err = &intake.FieldError{Field: "name", Problem: "is needed, so that you know which device this is"}
	}
	if err == nil && len([]rune(name)) > deviceNameLength {
		err = &intake.FieldError{Field: "name", Problem: fmt.Sprintf("is longer than %d characters", deviceNameLength)}
	}
	if err != nil {
		page := askPage{Base: f.Base(r, "Pair this device", ""), Code: code, Name: bounded(name, deviceNameLength), Error: fieldSentence(err)}
		return f.pages.Render(w, http.StatusBadRequest, "ask", page)
	}
	person, ok := f.pairing.use(code)
	if !ok { // used up by another device since the check
		return errPairing
	}
	var raw [32]byte
	rand.Read(raw[:])
	secret := base64.RawURLEncoding.EncodeToString(raw[:])
	by := By(r)
	by.Person, by.Device = person, name
	if _, err := f.config.Devices.Add(r.Context(), by, name, person, intake.KindKeeper, hashSecret(secret), time.Time{}); err != nil {
		return fmt.Errorf("pair device: %w", err)
	}
	http.SetCookie(w, f.cookie(secret))
	f.SetFlash(w, Flash{Text: "Paired. This device may now see and change the book."})
	http.Redirect(w, r, "/", http.StatusSeeOther)
	return nil
}

const deviceNameLength = 60
