package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pourproof/checks/mold"
)

type tiltTriedJSON struct {
	Angle   *float64 `json:"angle_deg"`
	Side    *float64 `json:"raised_side_deg"`
	Up      vec      `json:"up"`
	Trapped *float64 `json:"trapped_mm3"`
	Pockets int      `json:"pockets"`
	Level   *float64 `json:"level_ceiling_mm2"`
	Free    bool     `json:"free"`
}

type bestTiltJSON struct {
	Angle   *float64   `json:"angle_deg"`
	Side    *float64   `json:"raised_side_deg"`
	Up      vec        `json:"up"`
	Trapped *float64   `json:"trapped_mm3"`
	Pockets int        `json:"pockets"`
	Margin  *float64   `json:"margin_deg"`
	AtLeast bool       `json:"margin_at_least"`
	Chosen  bool       `json:"is_chosen"`
	Vents   []ventJSON `json:"suggested_vents"`
	Leave   *float64   `json:"suggested_vents_leave_mm3"`
}

// degrees turns radians into the degrees of report.json.
func degrees(rad float64) *float64 { return num(rad * 180 / math.Pi) }

func newTiltTried(s *mold.TiltSearch, p mold.TiltPoint) tiltTriedJSON {
	return tiltTriedJSON{degrees(p.Tilt.Angle), degrees(p.Tilt.Side), place(p.Up), num(p.Trapped), p.Pockets, num(p.Level), s.IsFree(p)}
}

func newBestTilt(s *mold.TiltSearch) *bestTiltJSON {
	return &bestTiltJSON{degrees(s.Best.Tilt.Angle), degrees(s.Best.Tilt.Side), place(s.Best.Up), num(s.BestFill.Trapped), len(s.BestFill.Pockets),
		degrees(s.BestMargin.Angle), s.BestMargin.AtLeast, s.Best.Tilt == s.Now.Tilt, ventsJSON(s.BestFill.Vents), num(s.BestFill.VentsLeave)}
}

// putTilts adds what a search of tilts found.
func (j *fillJSON) putTilts(s *mold.TiltSearch) {
	if s == nil {
		j.TiltsWhy = word("tilts were not searched: --search none, or neither air nor vents asked for")
		j.RockingWhy = j.TiltsWhy
		return
	}
	list := tiltsTried(s, s.Points)
	fewest := newTiltTried(s, s.Fewest)
	j.Tilts, j.BestTilt, j.FewestVents = &list, newBestTilt(s), &fewest
	j.Rocking, j.RockingWhy = rocking(s)
	j.MarginDeg, j.WorstWithin5 = degrees(s.NowMargin.Angle), num(s.Worst5)
}

func tiltsTried(s *mold.TiltSearch, points []mold.TiltPoint) []tiltTriedJSON {
	list := []tiltTriedJSON{}
	for _, p := range points {
		list = append(list, newTiltTried(s, p))
	}
	return list
}

type rockJSON struct {
	Angle *float64 `json:"angle_deg"`
	Side  *float64 `json:"raised_side_deg"`
	Up    vec      `json:"up"`
	Until *float64 `json:"until_ml"`
}

func rocking(s *mold.TiltSearch) (*[]rockJSON, *string) {
	if s.Rocking == nil {
		return nil, word(rockingWhy(s))
	}
	out := []rockJSON{}
	for _, p := range s.Rocking.Steps {
		out = append(out, rockJSON{degrees(p.Tilt.Angle), degrees(p.Tilt.Side), place(p.Up), num(p.Until / 1000)})
	}
	return &out, word(rockingWhy(s))
}

// rockingWhy says what a rocking plan rests on, or why there is none.
func rockingWhy(s *mold.TiltSearch) string {
	r := s.Rocking
	switch {
	case r == nil && len(s.Free()) > 0:
		return "not searched: a single tilt leaves no air"
	case r == nil:
		return "not searched: the mold is too large for the elements it is searched on"
	case r.Blunt:
		return fmt.Sprintf("not found: what stays at the best single tilt is less than the %s that elements of %s can tell", Volume(r.Least), Length(r.Element))
	case len(r.Steps) > 0:
		return fmt.Sprintf("worked out on elements of %s, which tell air from %s on", Length(r.Element), Volume(r.Least))
	}
	return fmt.Sprintf("none found: %s; %s; on elements of %s, which tell air from %s on", pairsPoured(r), thirdsPoured(r), Length(r.Element), Volume(r.Least))
}

// pairsPoured and thirdsPoured say how far a search that found nothing went.
func pairsPoured(r *mold.Rocking) string {
	if r.Left > 0 {
		return fmt.Sprintf("of %d sequences of two of %d tilts that may free all, the %d that turn the block least were poured and free it not (--search full pours the rest)", r.Tried+r.Left, r.Tilts, r.Tried)
	}
	return fmt.Sprintf("no sequence of two of %d tilts frees all", r.Tilts)
}

func thirdsPoured(r *mold.Rocking) string {
	switch {
	case r.Begun+r.Unbegun == 0:
		return "nor of three, because every third one traps what any two before it miss"
	case r.Unbegun > 0:
		return fmt.Sprintf("of three tilts, those were poured that begin with the %d most promising of %d pairs, with the likeliest third ones", r.Begun, r.Begun+r.Unbegun)
	}
	return fmt.Sprintf("nor does a likely third one after any of the %d pairs that leave it a chance", r.Begun)
}

// rockingText says the plan in a sentence, empty without one.
func rockingText(s *mold.TiltSearch) string {
	if s.Rocking == nil || len(s.Rocking.Steps) < 2 {
		return ""
	}
	return rockingWords(s.Rocking) + "; no single tilt leaves so little."
}

// rockingWords says a plan's attitudes one after the other, without a full stop.
func rockingWords(r *mold.Rocking) string {
	var b strings.Builder
	for i, p := range r.Steps {
		switch i {
		case 0:
			fmt.Fprintf(&b, "Stand the block at %s and press in %s", tiltFlag(p.Tilt), Milliliters(p.Until))
		case len(r.Steps) - 1:
			fmt.Fprintf(&b, ", then turn it to %s and fill it up", tiltFlag(p.Tilt))
		default:
			fmt.Fprintf(&b, ", turn it to %s and go on to %s", tiltFlag(p.Tilt), Milliliters(p.Until))
		}
	}
	return b.String()
}

// rockingLine is the plan with what it rests on.
func rockingLine(s *mold.TiltSearch) string {
	if plan := rockingText(s); plan != "" {
		return plan + " It is " + rockingWhy(s) + "."
	}
	return rockingWhy(s) + "."
}

// Tilts returns a search as report.json lists it, for encoding/json.
func Tilts(s *mold.TiltSearch) any {
	rock, why := rocking(s)
	return struct {
		Limit   *float64        `json:"limit_deg"`
		Cell    *float64        `json:"cell_mm"`
		Now     tiltTriedJSON   `json:"chosen_tilt"`
		Margin  *float64        `json:"margin_deg"`
		Worst   *float64        `json:"worst_within_5deg_mm3"`
		Best    *bestTiltJSON   `json:"best_tilt"`
		Fewest  tiltTriedJSON   `json:"fewest_vents_tilt"`
		Free    []tiltTriedJSON `json:"free_tilts"`
		Rocking *[]rockJSON     `json:"rocking"`
		Why     *string         `json:"rocking_why"`
		Tilts   []tiltTriedJSON `json:"tilts"`
	}{degrees(s.Limit), num(s.Cell), newTiltTried(s, s.Now), degrees(s.NowMargin.Angle), num(s.Worst5), newBestTilt(s),
		newTiltTried(s, s.Fewest), tiltsTried(s, s.Free()), rock, why, tiltsTried(s, s.Points)}
}

// tiltRows is how many tilts without air the table lists.
const tiltRows = 8

// TiltText writes a search for the terminal: the chosen tilt, the best, the one
// with the fewest pockets, some that need no change to the mold, and a disc.
func TiltText(s *mold.TiltSearch) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s tried up to %s off the rest, columns every %s\n\n", Plural(len(s.Points), "tilt"), Degrees(s.Limit), Length(s.Cell))
	fmt.Fprintf(&b, "  %-14s %12s %8s %10s  %s\n", "tilt", "air mm3", "pockets", "margin", "")
	row := func(p mold.TiltPoint, margin, word string) {
		fmt.Fprintf(&b, "  %-14s %12s %8d %10s  %s\n", tiltFlag(p.Tilt), Figure(math.Round(p.Trapped*100)/100), p.Pockets, margin, word)
	}
	if s.Best.Tilt == s.Now.Tilt {
		row(poured(s.Now, s.BestFill), marginText(s.BestMargin), "chosen, and the best")
	} else {
		row(poured(s.Now, s.NowFill), marginText(s.NowMargin), "chosen")
		row(poured(s.Best, s.BestFill), marginText(s.BestMargin), "best")
	}
	if s.Fewest.Tilt != s.Best.Tilt {
		row(s.Fewest, "", "fewest pockets, so fewest vents to add")
	}
	free := s.Free()
	for _, p := range spread(free, tiltRows, s.Best, s.Now) {
		row(p, "", "no change to the mold needed")
	}
	if n := len(s.BestFill.Vents); n > 0 && s.Best.Tilt != s.Now.Tilt {
		fmt.Fprintf(&b, "  the best with %s added leaves %s; --json - lists them\n", Plural(n, "vent"), Volume(s.BestFill.VentsLeave))
	}
	if len(free) > 0 {
		fmt.Fprintf(&b, "  %d of the tilts tried need no change to the mold\n", len(free))
	}
	fmt.Fprintf(&b, "\n%s\n", marginSentence(s))
	if s.Rocking != nil {
		wrap(&b, "", "Rocking: "+rockingLine(s))
	}
	fmt.Fprintf(&b, "\n%s", tiltMap(s))
	return b.String()
}

// cosApart is the cosine of 4 deg, the least angle between two tilts that are
// listed as different; a constant, so that every processor compares with the same.
const cosApart = 0.9975640502598242

// poured is a tilt with the answers of a pour at the mold's cell.
func poured(p mold.TiltPoint, f *mold.Fill) mold.TiltPoint {
	p.Trapped, p.Pockets = f.Trapped, len(f.Pockets)
	return p
}

// spread returns at most n of the tilts that lie apart from each other and from
// those told already.
func spread(list []mold.TiltPoint, n int, told ...mold.TiltPoint) []mold.TiltPoint {
	var out []mold.TiltPoint
	for _, p := range list {
		if len(out) == n {
			break
		}
		if !slices.ContainsFunc(append(told, out...), func(q mold.TiltPoint) bool { return p.Up.Dot(q.Up) > cosApart }) {
			out = append(out, p)
		}
	}
	return out
}

// airClass sorts the air of a tilt into steps of half a power of ten; classes has
// their words.
func airClass(s *mold.TiltSearch, p mold.TiltPoint) int {
	switch {
	case s.IsFree(p):
		return 0
	case p.Pockets == 0:
		return 1
	}
	for i, most := range classTops {
		if p.Trapped < most {
			return i + 2
		}
	}
	return len(classTops) + 2
}

// classTops are the volumes in mm3 that the classes with air end at.
var classTops = []float64{10, 30, 100, 300, 1000, 3000}

// classWords name the classes.
func classWords() []string {
	out := []string{"no air", "level roof"}
	for _, top := range classTops {
		out = append(out, "under "+Figure(top))
	}
	return append(out, "more")
}

// marginSentence says how far off the chosen tilt may be.
func marginSentence(s *mold.TiltSearch) string {
	m := s.NowMargin
	if m.AtLeast {
		return fmt.Sprintf("The chosen tilt may be off by %s to any side without another pocket.", Degrees(m.Angle))
	}
	return fmt.Sprintf("The chosen tilt may be off by %s; %s traps %s more.", marginText(m), tiltFlag(m.Fails), Volume(m.Adds))
}

func marginText(m mold.TiltMargin) string {
	switch {
	case m.AtLeast:
		return Degrees(m.Angle) + "+"
	case m.Angle == 0:
		return "under 1°"
	}
	return Degrees(m.Angle)
}

// tiltFlag writes a tilt as the flag takes it: 15@90.
func tiltFlag(t mold.Tilt) string {
	n := func(rad float64) string { return strings.TrimSuffix(Degrees(rad), "°") }
	if n(t.Angle) == "0" {
		return "0"
	}
	return n(t.Angle) + "@" + n(t.Side)
}

// mapRows is half the height of the disc in lines.
const mapRows = 10

// tiltMap draws the disc of tilts in characters: the middle is the rest, the edge
// the limit, the right is azimuth 0 and the top azimuth 90.
func tiltMap(s *mold.TiltSearch) string {
	var b strings.Builder
	spot := func(t mold.Tilt) (row, col int) {
		r := t.Angle / s.Limit * mapRows
		place := func(x float64) int { return int(math.Round(math.Round(x*1e9) / 1e9)) } // 2.5 may come as 2.4999…
		return place(-r * math.Sin(t.Side)), place(2 * r * math.Cos(t.Side))
	}
	nowRow, nowCol := spot(s.Now.Tilt)
	bestRow, bestCol := spot(s.Best.Tilt)
	for y := -mapRows; y <= mapRows; y++ {
		line := make([]byte, 0, 4*mapRows+1)
		for x := -2 * mapRows; x <= 2*mapRows; x++ {
			u, v := float64(x)/2, float64(-y)
			c := byte(' ')
			switch {
			case y == bestRow && x == bestCol:
				c = 'B'
			case y == nowRow && x == nowCol:
				c = 'C'
			case math.Hypot(u, v) <= mapRows+0.25:
				c = ".-123456789"[airClass(s, nearestTilt(s, mold.Tilt{Angle: math.Hypot(u, v) / mapRows * s.Limit, Side: math.Atan2(v, u)}))]
			}
			line = append(line, c)
		}
		b.WriteString("  " + strings.TrimRight(string(line), " ") + "\n")
	}
	fmt.Fprintf(&b, "  right: side at azimuth 0 (+x) raised, top: azimuth 90 (+y); edge %s.\n", Degrees(s.Limit))
	b.WriteString("  C chosen, B best, . no air, - level roof; digits: mm3 of air below\n ")
	for i, top := range classTops {
		if i > 0 {
			b.WriteString(",")
		}
		fmt.Fprintf(&b, " %d: %s", i+1, Figure(top))
	}
	fmt.Fprintf(&b, ", %d: more\n", len(classTops)+1)
	return b.String()
}

// nearestTilt returns the tried tilt nearest to t.
func nearestTilt(s *mold.TiltSearch, t mold.Tilt) mold.TiltPoint {
	up := mold.UpFor(s.Rest, t)
	best, dot := s.Points[0], -2.0
	for _, p := range s.Points {
		if d := p.Up.Dot(up); d > dot {
			best, dot = p, d
		}
	}
	return best
}
