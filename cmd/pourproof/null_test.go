package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pourproof/report"
	"pourproof/testdata"
)

// nullsWithoutReason returns the fields of a report that are null although neither their
// description in the schema says when they are, nor `why` beside them says why.
func nullsWithoutReason(t *testing.T, text []byte) []string {
	t.Helper()
	var schema map[string]any
	require.NoError(t, json.Unmarshal(report.SchemaText(), &schema))
	defs := schema["$defs"].(map[string]any)
	var out []string
	var walk func(at string, rule map[string]any, says string, x any)
	walk = func(at string, rule map[string]any, says string, x any) {
		if d, ok := rule["description"].(string); ok && says == "" {
			says = d
		}
		if ref, ok := rule["$ref"].(string); ok {
			walk(at, defs[strings.TrimPrefix(ref, "#/$defs/")].(map[string]any), says, x)
			return
		}
		if options, ok := rule["anyOf"].([]any); ok && x != nil {
			rule = options[0].(map[string]any)
			walk(at, rule, "", x)
			return
		}
		switch x := x.(type) {
		case nil:
			if !strings.Contains(says, "null") {
				out = append(out, at)
			}
		case []any:
			items, _ := rule["items"].(map[string]any)
			for i, one := range x {
				walk(fmt.Sprintf("%s[%d]", at, i), items, "", one)
			}
		case map[string]any:
			known, _ := rule["properties"].(map[string]any)
			why, _ := x["why"].(map[string]any)
			for name, one := range x {
				sub, ok := known[name].(map[string]any)
				if !ok {
					sub, _ = rule["additionalProperties"].(map[string]any)
				}
				reason, told := why[name].(string)
				assert.False(t, told && (one != nil || reason == ""), "%s.%s has a reason and is none", at, name)
				if one == nil && told {
					continue
				}
				if one == nil && why != nil {
					out = append(out, at+"."+name)
					continue
				}
				walk(at+"."+name, sub, "", one)
			}
		}
	}
	var x any
	require.NoError(t, json.Unmarshal(text, &x))
	walk("report", schema, "", x)
	slices.Sort(out)
	return out
}

// TestNullsHaveReasons: on a run of three bare files, tilted or not, searched or not, every
// null is one that the schema explains or that has its reason beside it. TestDemo asks the
// same of the example.
func TestNullsHaveReasons(t *testing.T) {
	t.Parallel()
	c, err := testdata.Case("b0")
	require.NoError(t, err)
	var text string
	for _, more := range [][]string{{"--tilt", "10"}, {"--search", "none"}, {"--only", "air", "--gate", "0,0,0"}} {
		dir, args := t.TempDir(), append([]string{"check", "--cell", "0.5", "--no-pdf", "--out", "out", c.Part.Name}, more...)
		put(t, dir, c.Part.Name, c.Part.Data)
		for _, h := range c.Halves {
			put(t, dir, h.Name, h.Data)
			args = append(args, h.Name)
		}
		exec(dir, args...)
		data, err := os.ReadFile(filepath.Join(dir, "out", "report.json"))
		require.NoError(t, err)
		assert.Empty(t, nullsWithoutReason(t, data), "%v", more)
		if text == "" {
			text = string(data)
		}
	}
	// The walk itself: a null that must not be is told, in a list, and where why is silent.
	for _, bad := range [][2]string{{`"cell_mm": 0.5`, "report.fill.cell_mm"}, {`"diameter_mm": 2`, "report.fill.pockets[0].suggested_vent.diameter_mm"}} {
		require.Contains(t, text, bad[0])
		name := bad[0][:strings.Index(bad[0], ":")]
		assert.Contains(t, nullsWithoutReason(t, []byte(strings.Replace(text, bad[0], name+": null", 1))), bad[1])
	}
	assert.Contains(t, text, `"a_ml": "[liquid] ratio_mass is not given, nor ratio_volume with density_a and density_b"`)
	assert.Contains(t, text, `"trapped_mm3": "[pot] up is not given"`)
}
