package desk

import (
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
)

// policy allows files of ours and pictures drawn into a page, nothing else.
// There is no inline script or style anywhere, so markup that slipped through
// a template could still not run.
const policy = "default-src 'none'; img-src 'self' data:; style-src 'self'; script-src 'self'; " +
	"connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// harden sets the headers that every answer carries. There is no HSTS: the desk
// speaks plain HTTP, and a browser told otherwise would never find it again.
func (f *Frame) harden(h http.Header) {
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "same-origin")
	h.Set("Permissions-Policy", "camera=(self), geolocation=(), microphone=(), payment=(), usb=()")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
}

// guard refuses requests that reached us under a foreign name or were sent by a
// foreign page.
func (f *Frame) guard(r *http.Request) error {
	if !f.answersTo(hostName(r.Host)) {
		return &Refusal{
			Status: http.StatusMisdirectedRequest, Title: "Not the name of this desk",
			Text: "The desk answers to its own addresses only. Open it under the address printed on the tags, or at the computer that keeps the book.",
		}
	}
	if isRead(r.Method) {
		return nil
	}
	if !sameOrigin(r) || f.cross.Check(r) != nil {
		return &Refusal{
			Status: http.StatusForbidden, Title: "Sent from another page",
			Text: "The desk takes changes only from its own pages. Nothing was changed. Open the page again and repeat it there.",
		}
	}
	return nil
}

func isRead(method string) bool {
	return method == http.MethodGet || method == http.MethodHead || method == http.MethodOptions
}

// answersTo is the defence against DNS rebinding, where a foreign name leads to
// our port and makes Origin equal Host. An IP literal cannot be rebound. The
// port is not compared: a tag may have been printed with another one.
func (f *Frame) answersTo(host string) bool {
	if host == "" {
		return false
	}
	if _, err := netip.ParseAddr(host); err == nil || loopbackHost(host) {
		return true
	}
	for _, address := range append(f.config.Retired(), f.config.Address()) {
		if own := addressHost(address); own != "" && strings.EqualFold(own, host) {
			return true
		}
	}
	return false
}

// sameOrigin compares the sender's host and port with ours. Browsers send
// Origin with every form, but Sec-Fetch headers are missing on plain HTTP to a
// private address, so http.CrossOriginProtection alone would let a request
// with neither pass.
func sameOrigin(r *http.Request) bool {
	from := r.Header.Get("Origin")
	if from == "" {
		from = r.Header.Get("Referer")
	}
	u, err := url.Parse(from)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" {
		return false
	}
	return strings.EqualFold(u.Host, r.Host)
}

// hostName is the name or address in a Host header, without port and brackets.
func hostName(hostport string) string {
	host, _, err := net.SplitHostPort(hostport)
	if err != nil {
		host = hostport
	}
	return strings.TrimSuffix(strings.Trim(host, "[]"), ".")
}

// addressHost is the host of an address as people write it, with or without a
// scheme.
func addressHost(address string) string {
	if !strings.Contains(address, "://") {
		address = "http://" + address
	}
	u, err := url.Parse(strings.TrimSpace(address))
	if err != nil {
		return ""
	}
	return strings.TrimSuffix(u.Hostname(), ".")
}

func loopbackHost(host string) bool {
	if addr, err := netip.ParseAddr(host); err == nil {
		return addr.Unmap().IsLoopback()
	}
	host = strings.ToLower(host)
	return host == "localhost" || strings.HasSuffix(host, ".localhost")
}

// Loopback reports whether an address, such as "http://127.0.0.1:8417", leads a
// phone back to itself instead of to the desk.
func Loopback(address string) bool {
	host := addressHost(address)
	addr, err := netip.ParseAddr(host)
	return loopbackHost(host) || err == nil && addr.IsUnspecified()
}
