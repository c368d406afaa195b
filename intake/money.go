package intake

import (
	"fmt"
	"strconv"
	"strings"
)

// Money is an amount in the minor units of an ISO 4217 currency: 2250 of EUR is
// 22.50. A Money without a currency is unknown, not zero.
type Money struct {
	Minor    int64
	Currency string
}

// Known reports whether an amount was ever given.
func (m Money) Known() bool { return m.Currency != "" }

// String returns the amount alone, "22.50", and "" when it is unknown.
func (m Money) String() string {
	if !m.Known() {
		return ""
	}
	digits := minorDigits(m.Currency)
	sign, minor := "", m.Minor
	if minor < 0 {
		sign, minor = "-", -minor
	}
	text := fmt.Sprintf("%0*d", digits+1, minor)
	if digits == 0 {
		return sign + text
	}
	return sign + text[:len(text)-digits] + "." + text[len(text)-digits:]
}

// ParseMoney reads an amount as people type it, "22.50", "22,5" or "1 250", in
// a currency given by its three letters. It refuses more digits than the
// currency has, because dropping one would change a price.
func ParseMoney(amount, currency string) (Money, error) {
	currency = strings.ToUpper(strings.TrimSpace(currency))
	if len(currency) != 3 || strings.Trim(currency, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") != "" {
		return Money{}, &FieldError{Field: "currency", Problem: "is not the three letters of a currency, like EUR"}
	}
	wrong := &FieldError{Field: "price", Problem: "is not an amount, like 22.50"}
	text := strings.NewReplacer(" ", "", "\u00a0", "", ",", ".").Replace(strings.TrimSpace(amount))
	whole, fraction, _ := strings.Cut(text, ".")
	digits := minorDigits(currency)
	if whole == "" || len(whole) > 12 || strings.Trim(whole+fraction, "0123456789") != "" {
		return Money{}, wrong
	}
	if len(fraction) > digits {
		return Money{}, &FieldError{Field: "price", Problem: fmt.Sprintf("has more than %d digits after the point", digits)}
	}
	minor, err := strconv.ParseInt(whole+fraction+strings.Repeat("0", digits-len(fraction)), 10, 64)
	if err != nil {
		return Money{}, wrong
	}
	return Money{Minor: minor, Currency: currency}, nil
}

// minorDigits is how many decimal digits a currency has. ISO 4217, list one,
// from memory: all but these have two.
func minorDigits(currency string) int {
	switch currency {
	case "BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "VND", "VUV", "XAF", "XOF", "XPF":
		return 0
	case "BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND":
		return 3
	}
	return 2
}
