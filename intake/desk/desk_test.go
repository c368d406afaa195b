package desk_test

import (
	"net/http"
	"net/http/httptest"
	"testing"

	"haulbook/intake/desk"
)

func TestFrameAnswers(t *testing.T) {
	f, err := desk.New(desk.Config{Book: "abc"})
	if err != nil {
		t.Fatal(err)
	}
	r := httptest.NewRequest("GET", "http://localhost:8417/devices", nil)
	r.RemoteAddr = "127.0.0.1:5000"
	w := httptest.NewRecorder()
	f.ServeHTTP(w, r)
	if w.Code != http.StatusOK {
		t.Errorf("GET /devices from this computer = %d\n%s", w.Code, w.Body)
	}
}
