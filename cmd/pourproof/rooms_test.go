package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// rooms is the import map: what each package may import of this module. Tests may
// reach for testdata and geomtest beside that.
var rooms = map[string][]string{
	"geom":           {},
	"geom/meshio":    {"geom"},
	"geom/bvh":       {"geom"},
	"geom/column":    {"geom"},
	"geom/flood":     {"geom", "geom/column"},
	"geom/distance":  {},
	"geom/geomtest":  {"geom"},
	"geom/measure":   {"geom", "geom/bvh", "geom/column"},
	"checks/mold":    {"geom", "geom/meshio", "geom/bvh", "geom/column", "geom/flood", "geom/distance", "geom/measure"},
	"checks":         {"checks/mold", "geom"},
	"report/render":  {"geom"},
	"report/pdf":     {},
	"report":         {"checks", "checks/mold", "geom", "geom/meshio", "report/render", "report/pdf"},
	"cmd/pourproof":  {"report", "checks", "checks/mold", "testdata"},
	"testdata":       {},
	"testdata/proof": {"checks", "checks/mold", "geom", "geom/bvh", "geom/column", "geom/meshio", "testdata"},
}

// outside is which packages may import a module from elsewhere, tests apart.
var outside = map[string][]string{
	"codeberg.org/go-pdf/fpdf":        {"report/pdf"},
	"golang.org/x/image":              {"report/pdf", "report/render"},
	"github.com/pelletier/go-toml/v2": {"checks/mold"},
	"github.com/spf13/pflag":          {"cmd/pourproof"},
	"gonum.org/v1/gonum":              {"checks/mold"},
	"golang.org/x/term":               {"cmd/pourproof"},
}

// Bounds of a file and a function, in lines.
const (
	maxFile     = 400
	maxFunction = 100
)

// source is one Go file of the module.
type source struct {
	dir, name string
	lines     int
	file      *ast.File
	set       *token.FileSet
}

func (s *source) test() bool { return strings.HasSuffix(s.name, "_test.go") }

func sources(t *testing.T) []source {
	t.Helper()
	var out []source
	root := filepath.Join("..", "..")
	require.NoError(t, filepath.WalkDir(root, func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() && p != root && strings.HasPrefix(d.Name(), ".") {
			return filepath.SkipDir
		}
		if !strings.HasSuffix(p, ".go") {
			return nil
		}
		text, err := os.ReadFile(p)
		if err != nil {
			return err
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, p, text, parser.ParseComments)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, p)
		dir, name := path.Split(filepath.ToSlash(rel))
		out = append(out, source{strings.TrimSuffix(dir, "/"), name, strings.Count(string(text), "\n"), file, set})
		return err
	}))
	require.NotEmpty(t, out)
	return out
}

// Imports run down only.
func TestImportsRunDown(t *testing.T) {
	for _, s := range sources(t) {
		allowed, known := rooms[s.dir]
		if !assert.True(t, known, "%s is no room of the map", s.dir) {
			continue
		}
		for _, spec := range s.file.Imports {
			name := strings.Trim(spec.Path.Value, `"`)
			inner, ours := strings.CutPrefix(name, "pourproof/")
			switch {
			case ours && s.test() && (inner == "testdata" || inner == "geom/geomtest" || inner == s.dir):
			case ours && s.test():
				// A test may use what its package reaches by way of another, and a
				// leaf of geom the other leaves: one is the other's slow twin.
				twin := strings.HasPrefix(s.dir, "geom/") && strings.HasPrefix(inner, "geom")
				assert.True(t, twin || slices.Contains(reach(s.dir), inner), "%s/%s imports %s", s.dir, s.name, inner)
			case ours:
				assert.Contains(t, allowed, inner, "%s/%s", s.dir, s.name)
			case strings.Contains(strings.Split(name, "/")[0], ".") && !s.test():
				assert.True(t, mayImport(name, s.dir), "%s/%s imports %s", s.dir, s.name, name)
			}
		}
	}
}

// reach returns all rooms below one.
func reach(room string) []string {
	var out []string
	for _, r := range rooms[room] {
		out = append(append(out, r), reach(r)...)
	}
	return out
}

func mayImport(name, dir string) bool {
	for module, dirs := range outside {
		if (name == module || strings.HasPrefix(name, module+"/")) && slices.Contains(dirs, dir) {
			return true
		}
	}
	return false
}

// Every folder has its door: the file named like it holds the package's doc.
func TestEveryFolderHasItsDoor(t *testing.T) {
	doors := map[string]bool{}
	for _, s := range sources(t) {
		door := path.Base(s.dir) + ".go"
		switch s.dir {
		case "cmd/pourproof":
			door = "main.go"
		case "testdata":
			door = "embed.go"
		}
		if s.name == door {
			doors[s.dir] = true
			assert.NotEmpty(t, s.file.Doc.Text(), "%s/%s has no package doc", s.dir, s.name)
		}
		for _, bad := range []string{"util", "common", "helper", "types"} {
			assert.NotContains(t, s.dir+"/"+s.name, bad)
		}
	}
	for room := range rooms {
		assert.True(t, doors[room], "%s has no door", room)
	}
}

// Files and functions stay short; every exported name says what it is.
func TestFilesAndFunctionsStayShort(t *testing.T) {
	for _, s := range sources(t) {
		where := s.dir + "/" + s.name
		assert.LessOrEqual(t, s.lines, maxFile, where)
		for _, d := range s.file.Decls {
			f, ok := d.(*ast.FuncDecl)
			if !ok {
				continue
			}
			n := s.set.Position(f.End()).Line - s.set.Position(f.Pos()).Line + 1
			assert.True(t, n <= maxFunction || s.test(), "%s: %s has %d lines", where, f.Name.Name, n)
			if !s.test() && f.Name.IsExported() && (f.Recv == nil || receiver(f) != "" && ast.IsExported(receiver(f))) {
				assert.NotEmpty(t, f.Doc.Text(), "%s: %s has no comment", where, f.Name.Name)
			}
		}
	}
}

// receiver is the name of a method's type.
func receiver(f *ast.FuncDecl) string {
	if f.Recv == nil {
		return ""
	}
	switch x := f.Recv.List[0].Type.(type) {
	case *ast.Ident:
		return x.Name
	case *ast.StarExpr:
		if id, ok := x.X.(*ast.Ident); ok {
			return id.Name
		}
	}
	return ""
}

// The facade of a mold stays small: at most fifteen exported methods.
func TestMoldStaysSmall(t *testing.T) {
	var methods []string
	for _, s := range sources(t) {
		for _, d := range s.file.Decls {
			if f, ok := d.(*ast.FuncDecl); ok && s.dir == "checks/mold" && !s.test() && receiver(f) == "Mold" && f.Name.IsExported() {
				methods = append(methods, f.Name.Name)
			}
		}
	}
	assert.NotEmpty(t, methods)
	assert.LessOrEqual(t, len(methods), 15, methods)
}

// A check's file stands alone: it uses no function of another check's file.
func TestChecksStandAlone(t *testing.T) {
	owner := map[string]string{}
	all := sources(t)
	for _, s := range all {
		if s.dir != "checks" || !strings.HasPrefix(s.name, "check_") || s.test() {
			continue
		}
		for _, d := range s.file.Decls {
			if f, ok := d.(*ast.FuncDecl); ok && f.Recv == nil && f.Name.Name != "_" {
				owner[f.Name.Name] = s.name
			}
		}
	}
	require.NotEmpty(t, owner)
	for _, s := range all {
		if s.dir != "checks" || !strings.HasPrefix(s.name, "check_") || s.test() {
			continue
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			if call, ok := n.(*ast.CallExpr); ok {
				if id, ok := call.Fun.(*ast.Ident); ok && owner[id.Name] != "" {
					assert.Equal(t, s.name, owner[id.Name], "%s calls %s", s.name, id.Name)
				}
			}
			return true
		})
	}
}

// The top level of the module is exactly this.
func TestTopLevel(t *testing.T) {
	entries, err := os.ReadDir(filepath.Join("..", ".."))
	require.NoError(t, err)
	known := []string{"cmd", "geom", "checks", "report", "testdata", "go.mod", "go.sum", "README.md", "DEVELOPERS.md", "Makefile", "LICENSE",
		"pourproof", "pourproof-out", "pourproof-demo"} // the last three are built and ignored
	for _, e := range entries {
		assert.True(t, strings.HasPrefix(e.Name(), ".") || slices.Contains(known, e.Name()), e.Name())
	}
	for _, name := range known[:11] {
		_, err := os.Stat(filepath.Join("..", "..", name))
		assert.NoError(t, err)
	}
}
