package intake

import (
	"crypto/rand"
	"fmt"
	"io"
	"net/url"
	"strings"
)

// Code is what a tag's QR carries after /T/: seven random characters of
// Crockford base 32 and one ISO 7064 MOD 37,36 check character, in upper case.
// It says nothing about what it is tied to, so a printed tag gives nothing away
// and outlives every renumbering. "" means none.
type Code string

const (
	crockford  = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
	iso7064    = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
	codeLength = 8
)

// NewCode draws a code from random, or from crypto/rand when random is nil. A
// draw whose check character would be I, L, O or U is drawn again (one in
// nine), because those four are never printed.
func NewCode(random io.Reader) (Code, error) {
	if random == nil {
		random = rand.Reader
	}
	var raw [codeLength - 1]byte
	for {
		if _, err := io.ReadFull(random, raw[:]); err != nil {
			return "", fmt.Errorf("draw tag code: %w", err)
		}
		drawn := make([]byte, 0, codeLength)
		for _, b := range raw {
			drawn = append(drawn, crockford[b&31])
		}
		check := checkCharacter(string(drawn))
		if strings.IndexByte(crockford, check) >= 0 {
			return Code(append(drawn, check)), nil
		}
	}
}

// ParseCode reads a code as a person or a scanner gives it. It folds case, I
// and L to 1, O to 0, and nothing else: a golden list pins this, because tags
// outlive programs.
func ParseCode(s string) (Code, error) {
	s = strings.TrimSpace(s)
	if len(s) != codeLength {
		return "", fmt.Errorf("code %.20q: want eight letters and digits: %w", s, ErrInvalid)
	}
	folded := codeFolds.Replace(strings.ToUpper(s))
	if strings.Trim(folded, crockford) != "" {
		return "", fmt.Errorf("code %q: has a character that no tag carries: %w", s, ErrInvalid)
	}
	if checkCharacter(folded[:codeLength-1]) != folded[codeLength-1] {
		return "", fmt.Errorf("code %q: the last character does not agree with the others, one is misread: %w", s, ErrInvalid)
	}
	return Code(folded), nil
}

var codeFolds = strings.NewReplacer("I", "1", "L", "1", "O", "0")

// CodeInURL finds the code in a tag's address, whatever host the tag was
// printed with. Only a /T/ path of our own form counts: this is the test for
// hard evidence in a photo, so somebody else's QR must not pass it.
func CodeInURL(s string) (Code, bool) {
	u, err := url.Parse(strings.TrimSpace(s))
	if err != nil || !strings.EqualFold(u.Scheme, "http") && !strings.EqualFold(u.Scheme, "https") || u.Host == "" {
		return "", false
	}
	segment, ok := strings.CutPrefix(strings.ToUpper(u.Path), "/T/")
	if !ok {
		return "", false
	}
	code, err := ParseCode(segment)
	return code, err == nil
}

// FindCode looks for a code in whatever a keyboard-wedge scanner or a paste
// made of a tag's address: any case, other punctuation, another host. The last
// run of letters and digits that is a valid code wins.
func FindCode(s string) (Code, bool) {
	words := strings.FieldsFunc(s, func(r rune) bool {
		return !('0' <= r && r <= '9' || 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z')
	})
	for i := len(words) - 1; i >= 0; i-- {
		if code, err := ParseCode(words[i]); err == nil {
			return code, true
		}
	}
	return "", false
}

// TagURL is the address a tag carries. The scheme stays in lower case (some
// phones read an upper-case scheme as plain text); the rest is upper case so
// that the QR stays in its alphanumeric mode.
func (c Code) TagURL(address string) string {
	scheme, rest, found := strings.Cut(strings.TrimRight(address, "/"), "://")
	if !found {
		scheme, rest = "http", scheme
	}
	return strings.ToLower(scheme) + "://" + strings.ToUpper(rest) + "/T/" + string(c)
}

// checkCharacter computes the check character of ISO 7064 MOD 37,36 over
// digits and upper-case letters. Source of the procedure and of the test
// values: ISO 7064, as worked in github.com/arthurdejong/python-stdnum.
func checkCharacter(s string) byte {
	check := 18 // doubled once, this is the 36 that the procedure begins with
	for i := range len(s) {
		check = (doubled(check) + strings.IndexByte(iso7064, s[i])) % 36
	}
	return iso7064[(37-doubled(check))%36]
}

func doubled(check int) int {
	if check == 0 {
		check = 36
	}
	return check * 2 % 37
}
