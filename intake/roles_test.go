package intake

import (
	"strings"
	"testing"
)

func TestGuessRoles(t *testing.T) {
	tag := []SeenCode{{Text: "http://h/T/00000001", Symbology: SymbologyQR, Share: 0.1}}
	for x := range crockford {
		text := "http://h/T/0000000" + crockford[x:x+1]
		if _, ok := CodeInURL(text); ok {
			tag[0].Text = text
		}
	}
	far := []SeenCode{tag[0]}
	far[0].Share = 0.004
	foreign := []SeenCode{{Text: "http://shop.example/1", Symbology: SymbologyQR, Share: 0.3}}
	linear := []SeenCode{{Text: "AB12", Symbology: SymbologyCode39, Share: 0.01}}

	tests := []struct {
		name   string
		photos []Photo
		want   string
	}{
		{"none", nil, ""},
		{"one photo is a view", make([]Photo, 1), "view"},
		{"the last is the plate", make([]Photo, 2), "view plate"},
		{"what is between is detail", make([]Photo, 4), "view detail detail plate"},
		{"a tag shot and one more", []Photo{{Codes: tag}, {}}, "tag view"},
		{"a tag in the distance", []Photo{{Codes: far}, {}}, "view plate"},
		{"somebody else's QR", []Photo{{Codes: foreign}, {}}, "view plate"},
		{"tag shot last", []Photo{{}, {}, {Codes: tag}}, "view plate tag"},
		{"a linear code is the plate", []Photo{{}, {Codes: linear}, {}}, "view plate detail"},
		{"plate shot first by its code", []Photo{{Codes: linear}, {}, {}}, "plate view detail"},
		{"a human named the plate", []Photo{{}, {Role: RolePlate}, {}}, "view plate detail"},
		{"a human named the view", []Photo{{}, {Role: RoleView}, {}}, "detail view plate"},
		{"a human named all", []Photo{{Role: RoleDetail}, {Role: RoleTag}}, "detail tag"},
		{"a human denied the tag", []Photo{{Codes: tag, Role: RoleView}, {}}, "view plate"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var got []string
			for _, p := range GuessRoles(tt.photos) {
				got = append(got, string(p.As))
			}
			if got := strings.Join(got, " "); got != tt.want {
				t.Errorf("GuessRoles = %q, want %q", got, tt.want)
			}
		})
	}
}
