package report

import (
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// validator checks a value against the part of JSON Schema (draft 2020-12) that
// schema.json uses; any other keyword is an error, so that nothing is skipped.
type validator struct {
	defs   map[string]any
	faults []string
}

// annotations say nothing of validity.
var annotations = []string{"$schema", "$id", "$defs", "title", "description"}

func (v *validator) fault(at, format string, args ...any) {
	v.faults = append(v.faults, at+": "+fmt.Sprintf(format, args...))
}

func (v *validator) check(at string, schema map[string]any, x any) {
	for keyword, want := range schema {
		switch keyword {
		case "$ref":
			def, ok := v.defs[strings.TrimPrefix(want.(string), "#/$defs/")].(map[string]any)
			if !ok {
				v.fault(at, "no definition %v", want)
				continue
			}
			v.check(at, def, x)
		case "type":
			if !ofType(x, want) {
				v.fault(at, "is %T, not %v", x, want)
			}
		case "const":
			if x != want {
				v.fault(at, "is %v, not %v", x, want)
			}
		case "enum":
			if !slices.Contains(want.([]any), x) {
				v.fault(at, "%v is none of %v", x, want)
			}
		case "anyOf":
			v.any(at, want.([]any), x)
		case "required":
			for _, name := range want.([]any) {
				if o, ok := x.(map[string]any); ok {
					if _, there := o[name.(string)]; !there {
						v.fault(at, "%v is missing", name)
					}
				}
			}
		case "properties", "additionalProperties":
			v.members(at, schema, keyword, x)
		case "items":
			list, _ := x.([]any)
			for i, one := range list {
				v.check(fmt.Sprintf("%s[%d]", at, i), want.(map[string]any), one)
			}
		case "minItems":
			if list, ok := x.([]any); ok && len(list) < int(want.(float64)) {
				v.fault(at, "has %d items", len(list))
			}
		case "maxItems":
			if list, ok := x.([]any); ok && len(list) > int(want.(float64)) {
				v.fault(at, "has %d items", len(list))
			}
		default:
			if !slices.Contains(annotations, keyword) {
				v.fault(at, "keyword %s is not known to this test", keyword)
			}
		}
	}
}

func (v *validator) any(at string, options []any, x any) {
	for _, one := range options {
		try := &validator{defs: v.defs}
		if try.check(at, one.(map[string]any), x); len(try.faults) == 0 {
			return
		}
		if x != nil {
			v.faults = append(v.faults, try.faults...)
			return // the other option is null: say what is wrong with this one
		}
	}
	v.fault(at, "fits none of the options")
}

func (v *validator) members(at string, schema map[string]any, keyword string, x any) {
	o, ok := x.(map[string]any)
	if !ok {
		return
	}
	known, _ := schema["properties"].(map[string]any)
	for name, member := range o {
		sub, isKnown := known[name].(map[string]any)
		switch {
		case keyword == "properties" && isKnown:
			v.check(at+"."+name, sub, member)
		case keyword == "additionalProperties" && !isKnown:
			v.check(at+"."+name, schema[keyword].(map[string]any), member)
		}
	}
}

func ofType(x, want any) bool {
	if list, ok := want.([]any); ok {
		return slices.ContainsFunc(list, func(one any) bool { return ofType(x, one) })
	}
	switch y := x.(type) {
	case nil:
		return want == "null"
	case bool:
		return want == "boolean"
	case string:
		return want == "string"
	case float64:
		return want == "number" || want == "integer" && y == math.Trunc(y)
	case []any:
		return want == "array"
	case map[string]any:
		return want == "object"
	}
	return false
}

func readSchema(t *testing.T) map[string]any {
	t.Helper()
	var s map[string]any
	require.NoError(t, json.Unmarshal(SchemaText(), &s))
	return s
}

func faultsOf(t *testing.T, text []byte) []string {
	t.Helper()
	schema := readSchema(t)
	var x any
	require.NoError(t, json.Unmarshal(text, &x))
	v := &validator{defs: schema["$defs"].(map[string]any)}
	v.check("report", schema, x)
	slices.Sort(v.faults)
	return v.faults
}

// The validator itself: what must be refused is.
func TestValidatorRefuses(t *testing.T) {
	good := reportText(t, sampleDocument())
	assert.Empty(t, faultsOf(t, good))
	for _, c := range [][3]string{
		{`"verdict": "stop"`, `"verdict": "fine"`, "report.verdict: fine is none of"},
		{`"schema": "pourproof/1"`, `"schema": "pourproof/2"`, "report.schema: is pourproof/2"},
		{`"triangles": 12`, `"triangles": 12.5`, "report.inputs[0].triangles: is float64"},
		{`"cell_mm": 0.25,`, ``, "report.fill: cell_mm is missing"},
		{`"kind": "ceiling"`, `"kind": "floor"`, "report.fill.pockets[0].kind: floor is none of"},
		{`"pot": null`, `"pot": 3`, "report.pot"},
	} {
		require.Contains(t, string(good), c[0])
		bad := strings.Replace(string(good), c[0], c[1], 1)
		assert.Contains(t, strings.Join(faultsOf(t, []byte(bad)), "\n"), c[2])
	}
}

// Every field of the structs is in the schema, and every property of the schema
// is a field: the contract and the code cannot part.
func TestSchemaAndStructsAgree(t *testing.T) {
	schema := readSchema(t)
	defs := schema["$defs"].(map[string]any)
	visited := map[string]bool{"vec": true, "setting": true}
	agree(t, defs, visited, "report", schema, reflect.TypeFor[reportJSON]())
	fieldsAgree(t, defs, visited, "setting", defs["setting"].(map[string]any), reflect.TypeFor[settingJSON]())
	for name := range defs {
		assert.True(t, visited[name], "definition %s is used by no field", name)
	}
}

// agree compares a schema with the Go type of the value it describes.
func agree(t *testing.T, defs map[string]any, visited map[string]bool, at string, schema map[string]any, typ reflect.Type) {
	t.Helper()
	if options, ok := schema["anyOf"].([]any); ok {
		require.Equal(t, reflect.Pointer, typ.Kind(), "%s may be null", at)
		agree(t, defs, visited, at, options[0].(map[string]any), typ.Elem())
		return
	}
	if ref, ok := schema["$ref"].(string); ok {
		name := strings.TrimPrefix(ref, "#/$defs/")
		if name == "vec" {
			assert.Equal(t, reflect.TypeFor[vec](), typ, at)
			return
		}
		visited[name] = true
		schema = defs[name].(map[string]any)
	}
	if typ == reflect.TypeFor[settingsJSON]() {
		assert.Equal(t, map[string]any{"$ref": "#/$defs/setting"}, schema["additionalProperties"], at)
		return
	}
	null := schema["type"] != nil && ofType(nil, schema["type"])
	if _, isEnum := schema["enum"]; !isEnum && schema["const"] == nil {
		assert.Equal(t, typ.Kind() == reflect.Pointer, null, "%s: null in one place only", at)
	}
	if typ.Kind() == reflect.Pointer {
		typ = typ.Elem()
	}
	switch typ.Kind() {
	case reflect.Struct:
		fieldsAgree(t, defs, visited, at, schema, typ)
	case reflect.Slice:
		agree(t, defs, visited, at+"[]", schema["items"].(map[string]any), typ.Elem())
	case reflect.Map:
		assert.Equal(t, map[string]any{"type": "string"}, schema["additionalProperties"], at)
	case reflect.String:
		assert.True(t, schema["enum"] != nil || schema["const"] != nil || ofType("", schema["type"]), at)
	case reflect.Bool:
		assert.True(t, ofType(true, schema["type"]), at)
	case reflect.Int:
		assert.True(t, ofType(1.0, schema["type"]) && !ofType(1.5, schema["type"]), at)
	case reflect.Float64:
		assert.True(t, ofType(1.5, schema["type"]), at)
	default:
		t.Errorf("%s: no rule for %v", at, typ)
	}
}

func fieldsAgree(t *testing.T, defs map[string]any, visited map[string]bool, at string, schema map[string]any, typ reflect.Type) {
	t.Helper()
	properties, ok := schema["properties"].(map[string]any)
	require.True(t, ok, at)
	var names, required []string
	for i := range typ.NumField() {
		name := typ.Field(i).Tag.Get("json")
		require.NotEmpty(t, name, "%s.%s", at, typ.Field(i).Name)
		names = append(names, name)
		sub, ok := properties[name].(map[string]any)
		if assert.True(t, ok, "%s.%s is not in the schema", at, name) {
			assert.NotEmpty(t, sub, "%s.%s", at, name)
			agree(t, defs, visited, at+"."+name, sub, typ.Field(i).Type)
		}
	}
	for name := range properties {
		assert.Contains(t, names, name, "%s.%s is in the schema only", at, name)
	}
	for _, r := range schema["required"].([]any) {
		required = append(required, r.(string))
	}
	assert.Equal(t, names, required, "%s: every field is always there, in this order", at)
}
