// Package help holds the help pages, as the window and the command line show
// them: Markdown, in the order in which they are best read.
package help

import (
	"embed"
	"strings"
)

//go:embed *.md
var files embed.FS

// Page is one help page.
type Page struct {
	Name  string // of the file, without its extension
	Title string // its first heading
	Text  string // Markdown
}

// order of the pages, by file name.
var order = []string{"first-plan", "window", "plan-file", "commands", "findings", "method"}

// Pages returns all pages in order.
func Pages() []Page {
	var out []Page
	for _, name := range order {
		b, err := files.ReadFile(name + ".md")
		if err != nil {
			panic("help page " + name + ": " + err.Error())
		}
		text := string(b)
		title, _, _ := strings.Cut(strings.TrimPrefix(text, "# "), "\n")
		out = append(out, Page{name, title, text})
	}
	return out
}

// Text returns the Markdown of the page called name, "" where there is none.
func Text(name string) string {
	for _, p := range Pages() {
		if p.Name == name {
			return p.Text
		}
	}
	return ""
}
