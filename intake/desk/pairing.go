package desk

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"html/template"
	"net/http"
	"strings"
	"sync"
	"time"

	qrcode "github.com/skip2/go-qrcode"

	"haulbook/intake"
)

// pairing holds the codes that are waiting for a phone. They live in memory
// only, as hashes: a restart ends them all.
type pairing struct {
	now   func() time.Time
	tries *Tries

	mu      sync.Mutex
	waiting map[[sha256.Size]byte]offer
}

// offer is one code that was shown.
type offer struct {
	person string // who let the device in
	until  time.Time
}

const (
	pairingLife  = 5 * time.Minute
	pairingsOpen = 16 // codes shown at a time; the oldest gives way
	// Thirteen characters of 32 are 65 random bits: at the rate that Tries
	// allows, guessing one within five minutes is out of the question.
	pairingLength = 13
	pairAlphabet  = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
)

func newPairing(now func() time.Time) *pairing {
	return &pairing{
		now: now, tries: NewTries(10, 100, 10*time.Minute, now),
		waiting: make(map[[sha256.Size]byte]offer),
	}
}

// offer makes a code for a device that acts for person.
func (p *pairing) offer(person string) (code string, until time.Time) {
	var raw [pairingLength]byte
	rand.Read(raw[:])
	for i, b := range raw {
		raw[i] = pairAlphabet[b&31]
	}
	until = p.now().Add(pairingLife)
	p.mu.Lock()
	defer p.mu.Unlock()
	p.sweep()
	p.waiting[hashPairing(string(raw[:]))] = offer{person, until}
	return string(raw[:]), until
}

// sweep drops what has expired, and the oldest when too many are open.
func (p *pairing) sweep() {
	var oldest [sha256.Size]byte
	var first time.Time
	for key, o := range p.waiting {
		if !p.now().Before(o.until) {
			delete(p.waiting, key)
		} else if first.IsZero() || o.until.Before(first) {
			oldest, first = key, o.until
		}
	}
	if len(p.waiting) >= pairingsOpen {
		delete(p.waiting, oldest)
	}
}

// check returns nil when the code would pair now. A miss counts against the
// peer, a hit does not.
func (p *pairing) check(r *http.Request, code string) error {
	if wait := p.tries.Wait(r); wait > 0 {
		return tooMany(wait)
	}
	p.mu.Lock()
	o, ok := p.waiting[hashPairing(code)]
	p.mu.Unlock()
	if !ok || !p.now().Before(o.until) {
		p.tries.Spend(r)
		return errPairing
	}
	return nil
}

// use takes the code away and returns who had it shown.
func (p *pairing) use(code string) (person string, ok bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	key := hashPairing(code)
	o, ok := p.waiting[key]
	delete(p.waiting, key)
	return o.person, ok && p.now().Before(o.until)
}

// hashPairing folds case, because a phone may have lower-cased what it scanned,
// and the letters that are never drawn into the digits they were taken for.
func hashPairing(code string) [sha256.Size]byte {
	return sha256.Sum256([]byte(pairFolds.Replace(strings.ToUpper(code))))
}

var pairFolds = strings.NewReplacer("I", "1", "L", "1", "O", "0")

// pairURL keeps the scheme in lower case (some phones read an upper-case one as
// plain text) and the rest in upper case for a smaller QR, as tags do.
func pairURL(address, code string) string {
	scheme, rest, found := strings.Cut(strings.TrimRight(address, "/"), "://")
	if !found {
		scheme, rest = "http", scheme
	}
	return strings.ToLower(scheme) + "://" + strings.ToUpper(rest) + "/PAIR/" + code
}

// modulePixels is the width of a QR module on the screen: whole pixels, so no
// edge is blurred, and 45 modules still fit a narrow phone.
const modulePixels = 7

// drawQR draws text black on white with its quiet zone of four modules
// (ISO/IEC 18004), whatever colours the page around it has.
func drawQR(text string) (png template.URL, side int, err error) {
	qr, err := qrcode.New(text, qrcode.Medium)
	if err != nil {
		return "", 0, err
	}
	body, err := qr.PNG(-modulePixels)
	if err != nil {
		return "", 0, err
	}
	side = len(qr.Bitmap()) * modulePixels
	return template.URL("data:image/png;base64," + base64.StdEncoding.EncodeToString(body)), side, nil
}

// fieldSentence words a field's problem for the form it came from.
func fieldSentence(err error) string {
	var field *intake.FieldError
	if errors.As(err, &field) {
		return strings.ToUpper(field.Field[:1]) + field.Field[1:] + " " + field.Problem + "."
	}
	return "That does not fit."
}
