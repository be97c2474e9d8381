package checks

import (
	"fmt"
	"strings"

	"pourproof/checks/mold"
)

// What several checks ask of the facts.

// channel returns the channel of that ID, nil for none.
func (p *Pass) channel(id int) *mold.Channel {
	for i := range p.Fill.Ports {
		if c := &p.Fill.Ports[i]; c.ID == id {
			return c
		}
	}
	return nil
}

// pocket returns the pocket of that ID, nil for none.
func (p *Pass) pocket(id int) *mold.Pocket {
	for i := range p.Fill.Pockets {
		if k := &p.Fill.Pockets[i]; k.ID == id {
			return k
		}
	}
	return nil
}

// gates returns the channels that resin enters by.
func (p *Pass) gates() []*mold.Channel { return p.withRole(mold.Gate) }

func (p *Pass) withRole(r mold.Role) []*mold.Channel {
	var out []*mold.Channel
	for i := range p.Fill.Ports {
		if c := &p.Fill.Ports[i]; c.Role == r {
			out = append(out, c)
		}
	}
	return out
}

// blindInto returns the blind channel whose mouth lies in a pocket's air: the
// pocket's nearest channel, with its mouth above the level that the air was cut
// off at. nil for none.
func (p *Pass) blindInto(k *mold.Pocket) *mold.Channel {
	c := p.channel(k.Near)
	if c == nil || c.Role != mold.Blind || c.Mouth.Dot(p.Fill.Up) < k.SealedAt {
		return nil
	}
	return c
}

// airLimits names what a pocket's volume is held against: less is allowed where its
// hole would be seen.
func airLimits(k *mold.Pocket) []string {
	if k.Show != "" {
		return []string{"air_stop_mm3", "air_show_mm3", "air_discuss_mm3"}
	}
	return []string{"air_stop_mm3", "air_discuss_mm3"}
}

// channelName is how sentences name a channel: "vent 2".
func channelName(c *mold.Channel) string {
	switch c.Role {
	case mold.Gate:
		return fmt.Sprintf("gate %d", c.ID)
	case mold.Vent:
		if c.Tried {
			return fmt.Sprintf("vent %d (tried out)", c.ID)
		}
		return fmt.Sprintf("vent %d", c.ID)
	}
	return fmt.Sprintf("channel %d", c.ID)
}

// capital begins a sentence with s.
func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// parting is what a channel's Half says where two halves form it.
const parting = "parting"

// halfOf returns the name of the half that forms a channel, empty at the parting
// face.
func halfOf(c *mold.Channel) string {
	if c.Half == parting {
		return ""
	}
	return c.Half
}

func (p *Pass) partName() string {
	if p.Mold != nil && p.Mold.Part.Name != "" {
		return p.Mold.Part.Name
	}
	for i := range p.Inputs {
		if p.Inputs[i].Role == "part" {
			return p.Inputs[i].Name
		}
	}
	return ""
}
