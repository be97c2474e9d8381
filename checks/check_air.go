package checks

var airCheck = Check{Name: "air", Title: "Air that stays", Doc: "x", Run: func(p *Pass) { p.poured() }}
