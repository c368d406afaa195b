package desk

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"time"
)

//go:embed static
var staticFiles embed.FS

func ownStatic() fs.FS { return below(staticFiles, "static") }

// below is fs.Sub for a folder that is part of the program. fs.Sub fails only
// on an invalid name, and the names are constants here.
func below(files fs.FS, dir string) fs.FS {
	sub, err := fs.Sub(files, dir)
	if err != nil {
		return files
	}
	return sub
}

// asset is one static file, held in memory.
type asset struct {
	url, kind string
	body      []byte
}

// Static adds the style sheets, scripts and pictures of an area, from all of
// files. Templates write {{asset "bench.js"}} or, where two areas share a
// file name, {{asset "bench/list.js"}}; the first to come keeps the short name.
// The URL carries a hash of the content, so browsers keep the file for good.
func (f *Frame) Static(prefix string, files fs.FS) {
	err := fs.WalkDir(files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		body, err := fs.ReadFile(files, name)
		if err != nil {
			return err
		}
		kind := mime.TypeByExtension(path.Ext(name))
		switch path.Ext(name) { // a system's own table may say otherwise
		case ".css":
			kind = "text/css; charset=utf-8"
		case ".js":
			kind = "text/javascript; charset=utf-8"
		case ".svg":
			kind = "image/svg+xml"
		case ".html":
			return nil // templates that share the folder
		}
		sum := sha256.Sum256(body)
		full := path.Join(prefix, name)
		a := asset{url: "/static/" + hex.EncodeToString(sum[:6]) + "/" + full, kind: kind, body: body}
		f.assets[full] = a
		for _, short := range []string{name, path.Base(name)} {
			if _, taken := f.assets[short]; !taken {
				f.assets[short] = a
			}
		}
		return nil
	})
	if err != nil {
		f.config.Log.Error("read static files", "area", prefix, "err", err)
	}
}

// assetURL is the template function asset. A name that is not there fails the
// page, so that a test of it finds the mistake.
func (f *Frame) assetURL(name string) (string, error) {
	a, ok := f.assets[name]
	if !ok {
		return "", fmt.Errorf("no static file %q", name)
	}
	return a.url, nil
}

// serveAsset answers under any hash, but lets a browser keep the file only
// under the right one.
func (f *Frame) serveAsset(w http.ResponseWriter, r *http.Request) {
	a, ok := f.assets[r.PathValue("path")]
	if !ok {
		f.fail(w, r, &Refusal{Status: http.StatusNotFound, Title: "No such file", Text: "There is nothing at this address."})
		return
	}
	w.Header().Set("Cache-Control", "no-cache")
	if a.url == r.URL.Path {
		w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	}
	w.Header().Set("Content-Type", a.kind)
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(a.body))
}
