package desk_test

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"html"
	"image/png"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"

	"haulbook/intake"
	"haulbook/intake/desk"
)

var shownAddress = regexp.MustCompile(`http://[0-9A-Z.:]+(/PAIR/[0-9A-Z]+)`)

// offered asks for a pairing code as the keeper and returns its path.
func offered(t *testing.T, b *bench, form string) string {
	t.Helper()
	w := b.send(t, "POST", "/devices/pair", form)
	status(t, w, 200)
	nothingInline(t, w.Body.String())
	found := shownAddress.FindStringSubmatch(w.Body.String())
	if found == nil {
		t.Fatalf("no pairing address on the page:\n%s", w.Body)
	}
	return found[1]
}

// pair sends the phone's answer and returns its cookie, "" when it got none.
func pair(t *testing.T, b *bench, path, name string, want int) string {
	t.Helper()
	w := b.send(t, "POST", path, "op=p&name="+name, stranger)
	status(t, w, want)
	for _, c := range w.Result().Cookies() {
		if c.Name == "hb_k7m2" {
			if !c.HttpOnly || c.SameSite != http.SameSiteLaxMode || c.Path != "/" || len(c.Value) != 43 {
				t.Errorf("cookie = %+v, want HttpOnly, Lax, for the whole desk, 32 bytes", c)
			}
			return c.Value
		}
	}
	return ""
}

func TestPairingAPhone(t *testing.T) {
	b := open(t)
	closed(b)
	path := offered(t, b, "")
	w := b.send(t, "GET", path, "", stranger)
	status(t, w, 200)
	contains(t, w.Body.String(), "Let this device see and change the book?", `name="name"`)
	if len(b.devices.list) != 0 {
		t.Fatal("opening the link paired a device")
	}
	secret := pair(t, b, path, "attic+phone", http.StatusSeeOther)
	if secret == "" {
		t.Fatal("no cookie")
	}
	if strings.Contains(fmt.Sprint(b.devices.hashes), secret) {
		t.Error("the secret itself was stored")
	}
	cookie := header("Cookie", "hb_k7m2="+secret)
	status(t, b.send(t, "GET", "/private", "", stranger, cookie), 200)
	w = b.send(t, "GET", "/devices", "", stranger, cookie)
	contains(t, w.Body.String(), "attic phone", "this device")

	// Used: not a second time, by whomever.
	status(t, b.send(t, "GET", path, "", stranger), 404)
	if pair(t, b, path, "other", 404) != "" || len(b.devices.list) != 1 {
		t.Error("a used code paired again")
	}
	status(t, b.send(t, "POST", "/devices/"+string(b.devices.list[0].ID)+"/revoke", "op=r"), 303)
	status(t, b.send(t, "GET", "/private", "", stranger, cookie), 403)
	lacks(t, b.send(t, "GET", "/devices", "").Body.String(), "attic phone")
	status(t, b.send(t, "POST", "/devices/none/revoke", "op=r2"), 404)
}

func TestPairingPathInLowerCase(t *testing.T) {
	b := open(t)
	code := strings.TrimPrefix(offered(t, b, ""), "/PAIR/")
	path := "/pair/" + strings.NewReplacer("0", "o", "1", "l").Replace(strings.ToLower(code))
	status(t, b.send(t, "GET", path, "", stranger), 200)
	if pair(t, b, path, "phone", 303) == "" {
		t.Error("a code in lower case did not pair")
	}
}

func TestPairingExpires(t *testing.T) {
	b := open(t)
	path := offered(t, b, "")
	b.now = b.now.Add(5*time.Minute - time.Second)
	status(t, b.send(t, "GET", path, "", stranger), 200)
	b.now = b.now.Add(time.Second)
	w := b.send(t, "GET", path, "", stranger)
	status(t, w, 404)
	contains(t, w.Body.String(), "works once and for five minutes")
	if pair(t, b, path, "phone", 404) != "" {
		t.Error("an expired code paired")
	}
}

func TestPairingNeedsTheKeeperAndAName(t *testing.T) {
	b := open(t)
	status(t, b.send(t, "POST", "/devices/pair", "", stranger), 403)
	status(t, b.send(t, "GET", "/devices", "", stranger), 403)
	status(t, b.send(t, "POST", "/devices/x/revoke", "", stranger), 403)
	path := offered(t, b, "")
	for _, name := range []string{"", "+%09", strings.Repeat("x", 61), "%ff"} {
		w := b.send(t, "POST", path, "name="+name, stranger)
		status(t, w, 400)
		contains(t, w.Body.String(), `class="why"`)
	}
	hostile := `"><script>alert(1)</script>` + strings.Repeat("y", 10_000)
	w := b.send(t, "POST", path, "name="+strings.ReplaceAll(hostile, " ", "+"), stranger)
	status(t, w, 400)
	lacks(t, w.Body.String(), "<script>alert")
	if pair(t, b, path, "after+all", 303) == "" {
		t.Error("a refused name used the code up")
	}
	// Somebody else's page cannot press the button for the phone's owner.
	status(t, b.send(t, "POST", offered(t, b, ""), "name=x", stranger, header("Origin", "http://evil.example")), 403)
}

func TestGuessingPairingCodesIsHeldUp(t *testing.T) {
	b := open(t)
	path := offered(t, b, "")
	guess := func(peer string, n int) int {
		return b.send(t, "GET", fmt.Sprintf("/pair/GUESS%d", n), "", stranger, func(r *http.Request) { r.RemoteAddr = peer }).Code
	}
	for n := range 10 {
		if got := guess("192.168.1.66:4000", n); got != 404 {
			t.Fatalf("guess %d = %d, want 404", n, got)
		}
	}
	if got := guess("192.168.1.66:4001", 10); got != 429 {
		t.Errorf("guess 11 of one peer = %d, want 429", got)
	}
	status(t, b.send(t, "GET", path, "", stranger, func(r *http.Request) { r.RemoteAddr = "192.168.1.66:4002" }), 429)
	status(t, b.send(t, "GET", path, "", stranger), 200) // others are not held up
	for n := range 90 {
		guess(fmt.Sprintf("10.0.%d.1:99", n), n)
	}
	status(t, b.send(t, "GET", path, "", stranger), 429) // altogether too many
	b.now = b.now.Add(10 * time.Minute)
	if got := guess("192.168.1.66:4003", 0); got != 404 {
		t.Errorf("guess after the window = %d, want 404", got)
	}
}

func TestPairingOffersAreBounded(t *testing.T) {
	b := open(t)
	first := offered(t, b, "")
	b.now = b.now.Add(time.Second)
	seen := map[string]bool{first: true}
	for range 16 {
		path := offered(t, b, "")
		if seen[path] || len(strings.TrimPrefix(path, "/PAIR/")) != 13 {
			t.Fatalf("code %q repeats or is no 13 characters", path)
		}
		seen[path] = true
	}
	status(t, b.send(t, "GET", first, "", stranger), 404) // the oldest gave way
}

// TestPairingQRReads decodes the picture on the page with an independent
// reader (gozxing) and checks its quiet zone of four modules (ISO/IEC 18004).
func TestPairingQRReads(t *testing.T) {
	for _, address := range []string{"http://192.168.1.20:8417", "http://10.0.0.5", "https://a-long-name-for-a-computer.house.lan:65535"} {
		b := open(t)
		b.address = address
		body := b.send(t, "POST", "/devices/pair", "").Body.String()
		found := regexp.MustCompile(`src="data:image/png;base64,([^"]+)" width="(\d+)"`).FindStringSubmatch(body)
		if found == nil {
			t.Fatalf("no picture on the page:\n%s", body)
		}
		raw, err := base64.StdEncoding.DecodeString(html.UnescapeString(found[1]))
		if err != nil {
			t.Fatal(err)
		}
		img, err := png.Decode(bytes.NewReader(raw))
		if err != nil {
			t.Fatal(err)
		}
		if got := fmt.Sprint(img.Bounds().Dx()); got != found[2] {
			t.Errorf("picture is %s pixels wide, shown as %s", got, found[2])
		}
		for i := range 4 * 7 {
			if r, _, _, _ := img.At(i, img.Bounds().Dy()/2).RGBA(); r != 0xffff {
				t.Fatalf("pixel %d of the quiet zone is dark", i)
			}
		}
		bitmap, err := gozxing.NewBinaryBitmapFromImage(img)
		if err != nil {
			t.Fatal(err)
		}
		read, err := qrcode.NewQRCodeReader().Decode(bitmap, nil)
		if err != nil {
			t.Fatalf("%s: %v", address, err)
		}
		want := strings.ToUpper(strings.TrimPrefix(strings.TrimPrefix(address, "https://"), "http://")) + "/PAIR/"
		if got := read.GetText(); !strings.HasPrefix(got, address[:strings.Index(address, "://")]) || !strings.Contains(got, want) {
			t.Errorf("QR says %q, want the scheme in lower case and %s", got, want)
		}
	}
}

func TestPairingWithoutAnAddressForTags(t *testing.T) {
	for _, address := range []string{"", "http://127.0.0.1:8417"} {
		b := open(t)
		b.address = address
		for _, w := range []string{b.send(t, "GET", "/devices", "").Body.String(), b.send(t, "POST", "/devices/pair", "address=http://evil.example").Body.String()} {
			contains(t, w, "before the first tag is printed")
			lacks(t, w, "/PAIR/", "evil.example")
			for _, ip := range desk.NetworkAddresses() {
				contains(t, w, "http://"+ip.String()+":8417")
			}
		}
		for _, ip := range desk.NetworkAddresses() {
			offered(t, b, "address=http://"+ip.String()+":8417")
		}
	}
}

func TestNetworkAddressesArePrivate(t *testing.T) {
	for _, ip := range desk.NetworkAddresses() {
		if !ip.IsPrivate() || !ip.Is4() {
			t.Errorf("offers %v", ip)
		}
	}
}

func TestDevicesPageWithHostileNames(t *testing.T) {
	b := open(t)
	for _, name := range []string{`<img src=x onerror=alert(1)>`, `"quoted" 'twice'`, "\u202Eesrever", strings.Repeat("wide", 2500)} {
		b.devices.Add(t.Context(), intake.By{}, name, "keeper", intake.KindHelper, name, b.now.Add(time.Hour))
	}
	b.devices.Add(t.Context(), intake.By{}, "expired", "x", intake.KindHelper, "e", b.now.Add(-time.Hour))
	w := b.send(t, "GET", "/devices", "")
	status(t, w, 200)
	contains(t, w.Body.String(), "&lt;img src=x", "helper")
	lacks(t, w.Body.String(), "<img src=x", ">expired<")
	nothingInline(t, w.Body.String())
}

func TestDeskWithoutDevices(t *testing.T) {
	b := open(t, func(c *desk.Config) { c.Devices = nil })
	status(t, b.send(t, "GET", "/devices", ""), 200)
	status(t, b.send(t, "POST", "/devices/pair", ""), 409)
	status(t, b.send(t, "POST", "/devices/x/revoke", ""), 404)
}
