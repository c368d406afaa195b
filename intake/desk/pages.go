package desk

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"strconv"
	"strings"
)

//go:embed templates
var templateFiles embed.FS

func ownPages() fs.FS { return below(templateFiles, "templates/pages") }

// Pages are the parsed templates of one area, a page a file.
type Pages struct{ named map[string]*template.Template }

// Area adds an area of the desk: the style sheets and scripts in its folder
// static, under the area's name, and the pages in its folder templates, as Static
// and Pages do.
func (f *Frame) Area(name string, files fs.FS, funcs template.FuncMap) (*Pages, error) {
	static, err := fs.Sub(files, "static")
	if err != nil {
		return nil, fmt.Errorf("register %s: %w", name, err)
	}
	templates, err := fs.Sub(files, "templates")
	if err != nil {
		return nil, fmt.Errorf("register %s: %w", name, err)
	}
	f.Static(name, static)
	pages, err := f.Pages(templates, funcs)
	if err != nil {
		return nil, fmt.Errorf("register %s: %w", name, err)
	}
	return pages, nil
}

// Pages parses the layout and the shared parts once, and on top of them every
// .html file of files, folders included. A page defines block "main", and
// "head" and "foot" where it needs them; a file in a folder "parts", or whose
// name begins with "_", is no page but joins all pages of the area. funcs are
// added to the frame's own.
func (f *Frame) Pages(files fs.FS, funcs template.FuncMap) (*Pages, error) {
	layout, err := template.New("layout.html").Funcs(f.funcs()).Funcs(funcs).
		ParseFS(templateFiles, "templates/layout.html", "templates/parts/*.html")
	if err != nil {
		return nil, fmt.Errorf("parse layout: %w", err)
	}
	parts, pages := map[string]string{}, map[string]string{}
	err = fs.WalkDir(files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || path.Ext(name) != ".html" {
			return err
		}
		body, err := fs.ReadFile(files, name)
		if strings.HasPrefix(path.Base(name), "_") || path.Base(path.Dir(name)) == "parts" {
			parts[name] = string(body)
		} else {
			pages[name] = string(body)
		}
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read pages: %w", err)
	}
	for name, body := range parts {
		if _, err := layout.New(path.Base(name)).Parse(body); err != nil {
			return nil, fmt.Errorf("parse %s: %w", name, err)
		}
	}
	p := &Pages{named: make(map[string]*template.Template)}
	for name, body := range pages {
		page, err := layout.Clone()
		if err == nil {
			_, err = page.New(path.Base(name)).Parse(body)
		}
		if err != nil {
			return nil, fmt.Errorf("parse %s: %w", name, err)
		}
		p.named[strings.TrimSuffix(path.Base(name), ".html")] = page
	}
	return p, nil
}

// Render sends page, whose struct embeds Base, through the template name (with
// or without .html). The whole page is made before anything is sent, so a
// template that fails halfway leaves no half page behind.
func (p *Pages) Render(w http.ResponseWriter, status int, name string, page any) error {
	t, ok := p.named[strings.TrimSuffix(name, ".html")]
	if !ok {
		return fmt.Errorf("render %s: no such page", name)
	}
	var whole bytes.Buffer
	if err := t.ExecuteTemplate(&whole, "layout.html", page); err != nil {
		return fmt.Errorf("render %s: %w", name, err)
	}
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Content-Length", strconv.Itoa(whole.Len()))
	h.Add("Vary", "Cookie")
	if h.Get("Cache-Control") == "" {
		h.Set("Cache-Control", "private, no-cache")
	}
	w.WriteHeader(status)
	w.Write(whole.Bytes()) // a browser that went away is no error of the page
	return nil
}
