package intake_test

import (
	"errors"
	"testing"

	"pgregory.net/rapid"

	"haulbook/intake"
)

func TestParseMoney(t *testing.T) {
	tests := []struct {
		amount, currency string
		want             intake.Money
		text             string
	}{
		{"22.50", "EUR", intake.Money{Minor: 2250, Currency: "EUR"}, "22.50"},
		{"22,5", "eur", intake.Money{Minor: 2250, Currency: "EUR"}, "22.50"},
		{"1 250", "USD", intake.Money{Minor: 125000, Currency: "USD"}, "1250.00"},
		{"0", "GBP", intake.Money{Minor: 0, Currency: "GBP"}, "0.00"},
		// ISO 4217, from memory: yen has no minor unit, the Kuwaiti dinar three digits.
		{"4500", "JPY", intake.Money{Minor: 4500, Currency: "JPY"}, "4500"},
		{"1.25", "KWD", intake.Money{Minor: 1250, Currency: "KWD"}, "1.250"},
	}
	for _, tt := range tests {
		got, err := intake.ParseMoney(tt.amount, tt.currency)
		if err != nil || got != tt.want || got.String() != tt.text {
			t.Errorf("ParseMoney(%q, %q) = %v %q, %v; want %v %q", tt.amount, tt.currency, got, got, err, tt.want, tt.text)
		}
	}
	for _, bad := range [][2]string{{"", "EUR"}, {"x", "EUR"}, {"1.234", "EUR"}, {"1.5", "JPY"}, {"-3", "EUR"}, {"1", ""}, {"1", "EURO"}, {"1.2.3", "EUR"}, {"9999999999999", "EUR"}} {
		if got, err := intake.ParseMoney(bad[0], bad[1]); !errors.Is(err, intake.ErrInvalid) {
			t.Errorf("ParseMoney(%q, %q) = %v, %v; want ErrInvalid", bad[0], bad[1], got, err)
		}
	}
}

func TestMoneyComesBackFromItsText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := intake.Money{
			Minor:    rapid.Int64Range(0, 99_999_999_999).Draw(t, "minor"),
			Currency: rapid.SampledFrom([]string{"EUR", "JPY", "KWD", "USD"}).Draw(t, "currency"),
		}
		if got, err := intake.ParseMoney(m.String(), m.Currency); err != nil || got != m {
			t.Fatalf("ParseMoney(%q) = %v, %v; want %v", m, got, err, m)
		}
	})
	if (intake.Money{}).String() != "" || (intake.Money{}).Known() {
		t.Error("the zero value is a price")
	}
	if got := (intake.Money{Minor: -5, Currency: "EUR"}).String(); got != "-0.05" {
		t.Errorf("got %q, want -0.05", got)
	}
}
