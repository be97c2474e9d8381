package mold

import "math"

// tie is the share by which two channels' widths may differ and still count as
// equal when the gate is chosen by rule.
const tie = 0.10

// assignRoles names the gates.
func (m *Mold) assignRoles() {
	m.nameGate()
	m.armsOfGates()
}

// nameGate names the gate: the channels nearest to the user's points, else
// the widest through channel by its narrowest place, of equals the one with the
// lower mouth at rest. The choice does not depend on the tilt.
func (m *Mold) nameGate() {
	if len(m.Job.Gates) > 0 {
		for _, g := range m.Job.Gates {
			best, dist := -1, math.Inf(1)
			for i := range m.Channels {
				for _, p := range m.Channels[i].Path {
					if d := p.Dist(g); d < dist {
						best, dist = i, d
					}
				}
			}
			if best >= 0 {
				m.Channels[best].Role = Gate
			}
		}
		return
	}
	widest := 0.0
	for i := range m.Channels {
		if c := &m.Channels[i]; c.Role == Vent && !c.Tried && c.Joins == 0 {
			widest = max(widest, c.Diameter)
		}
	}
	best := -1
	for i := range m.Channels {
		c := &m.Channels[i]
		if c.Role != Vent || c.Tried || c.Joins != 0 || c.Diameter < (1-tie)*widest {
			continue
		}
		if best < 0 || c.Mouth.Dot(m.Rest) < m.Channels[best].Mouth.Dot(m.Rest) {
			best = i
		}
	}
	if best >= 0 {
		m.Channels[best].Role, m.Channels[best].Assumed = Gate, true
	}
}
