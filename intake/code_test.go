package intake

import (
	"bytes"
	"errors"
	"os"
	"strings"
	"testing"
)

func TestCheckCharacter(t *testing.T) {
	tests := []struct{ in, want string }{
		// ISO 7064 MOD 37,36, as worked in github.com/arthurdejong/python-stdnum.
		{"A12425GABC1234002", "M"},
		// Computed with a second implementation; no published source.
		{"2026014003", "B"},
	}
	for _, tt := range tests {
		if got := string(checkCharacter(tt.in)); got != tt.want {
			t.Errorf("checkCharacter(%q) = %s, want %s", tt.in, got, tt.want)
		}
	}
}

// TestEverySingleSlipIsCaught: ISO 7064 promises that MOD 37,36 finds every
// single substitution. Folded letters are no slip: they read as the digit.
func TestEverySingleSlipIsCaught(t *testing.T) {
	code, err := NewCode(bytes.NewReader([]byte{3, 31, 7, 12, 25, 0, 18, 5, 5, 5, 5, 5, 5, 5}))
	if err != nil {
		t.Fatal(err)
	}
	for i := range code {
		for _, c := range crockford {
			slipped := string(code[:i]) + string(c) + string(code[i+1:])
			got, err := ParseCode(slipped)
			if slipped == string(code) {
				if err != nil || got != code {
					t.Errorf("ParseCode(%q) = %v, %v", slipped, got, err)
				}
			} else if !errors.Is(err, ErrInvalid) {
				t.Errorf("ParseCode(%q) = %v, %v; want ErrInvalid (from %q)", slipped, got, err, code)
			}
		}
	}
}

func TestNewCodeNeverPrintsAConfusable(t *testing.T) {
	for range 5000 {
		code, err := NewCode(nil)
		if err != nil {
			t.Fatal(err)
		}
		if len(code) != 8 || strings.ContainsAny(string(code), "ILOU") {
			t.Fatalf("drew %q", code)
		}
		if got, err := ParseCode(strings.ToLower(string(code))); err != nil || got != code {
			t.Fatalf("ParseCode(lower %q) = %q, %v", code, got, err)
		}
	}
}

func TestNewCodeDrawsAgainWhenTheCheckIsConfusable(t *testing.T) {
	// Of the 32 codes 000000x, those whose check is I, L, O or U must be redrawn.
	redrawn := 0
	for x := range byte(32) {
		code, err := NewCode(bytes.NewReader([]byte{0, 0, 0, 0, 0, 0, x, 1, 1, 1, 1, 1, 1, 1}))
		if err != nil {
			t.Fatal(err)
		}
		if code[6] != crockford[x] {
			redrawn++
		}
	}
	if redrawn == 0 || redrawn > 8 {
		t.Errorf("%d of 32 drawn again, want about one in nine", redrawn)
	}
}

// TestGoldenCodes pins how codes are read: printed tags outlive the code.
func TestGoldenCodes(t *testing.T) {
	list, err := os.ReadFile("testdata/codes.golden")
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(string(list)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		in, want, _ := strings.Cut(strings.TrimSpace(line), "\t")
		got, err := ParseCode(in)
		if want == "refused" {
			if !errors.Is(err, ErrInvalid) {
				t.Errorf("ParseCode(%q) = %v, %v; want ErrInvalid", in, got, err)
			}
		} else if err != nil || string(got) != want {
			t.Errorf("ParseCode(%q) = %v, %v; want %s", in, got, err, want)
		}
	}
}

func TestCodeInURL(t *testing.T) {
	const code = "7K3M9Q2D"
	good := Code(code[:7] + string(checkCharacter(code[:7])))
	yes := []string{
		good.TagURL("http://192.168.1.20:8417"), "HTTP://192.168.1.20:8417/T/" + string(good),
		"http://old.example/t/" + strings.ToLower(string(good)), good.TagURL("192.168.1.20:8417/"),
	}
	for _, s := range yes {
		if got, ok := CodeInURL(s); !ok || got != good {
			t.Errorf("CodeInURL(%q) = %v, %v", s, got, ok)
		}
	}
	no := []string{
		string(good), "http://shop.example/item/" + string(good), "http://h/T/" + string(good) + "/x", "http://h/T/7K3M9Q2Z",
		"ftp://h/T/" + string(good), "http:///T/" + string(good), "", "\x00",
	}
	for _, s := range no {
		if got, ok := CodeInURL(s); ok {
			t.Errorf("CodeInURL(%q) = %v, want none", s, got)
		}
	}
	mangled := []string{"http>&&192.168.1.20>8417&t&" + strings.ToLower(string(good)), " " + string(good) + "\r\n", "HTTPÖ--192.168.1.20Ö8417-T-" + string(good)}
	for _, s := range mangled {
		if got, ok := FindCode(s); !ok || got != good {
			t.Errorf("FindCode(%q) = %v, %v; want %v", s, got, ok, good)
		}
	}
}

func FuzzParseCode(f *testing.F) {
	f.Add("7K3M9Q2D")
	f.Add("oil0oil0")
	f.Add("http://h/T/00000000")
	f.Fuzz(func(t *testing.T, s string) {
		code, err := ParseCode(s)
		if err == nil {
			if again, err := ParseCode(string(code)); err != nil || again != code {
				t.Fatalf("%q parsed to %q, which parsed to %q, %v", s, code, again, err)
			}
		}
		if code, ok := FindCode(s); ok && len(code) != 8 {
			t.Fatalf("FindCode(%q) = %q", s, code)
		}
		CodeInURL(s)
	})
}
