package checks

var ventsCheck = Check{Name: "vents", Title: "Gate and vents", Doc: "x", Run: func(p *Pass) { p.poured() }}
