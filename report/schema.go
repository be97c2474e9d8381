package report

import _ "embed"

//go:embed schema.json
var schemaText []byte

// SchemaText returns the JSON Schema (draft 2020-12) of report.json.
func SchemaText() []byte { return schemaText }
