package mold

import (
	"fmt"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// widest is the share of a bore's drawn width from which a measured one is a slip:
// no print makes a bore half as wide again.
const widest = 1.5

// ParseCoupon reads the results of a coupon. Every unknown table or mark, wrong form,
// number out of range and pair of results that cannot both be true is an error with
// its place (JobFaults). A form that nothing is filled in is an empty Coupon.
func ParseCoupon(file string, data []byte) (*Coupon, error) {
	p := &couponParser{tomlText{file: file, data: data}, &Coupon{File: file, Results: map[string][]CouponResult{}}}
	if err := p.begin("results of a coupon", "name the form that pourproof coupon wrote"); err != nil {
		return nil, err
	}
	p.walk()
	for i := range couponRows {
		row := &couponRows[i]
		list := p.coupon.Results[row.Table]
		slices.SortFunc(list, func(a, b CouponResult) int {
			return slices.Index(row.Drawn, a.Drawn) - slices.Index(row.Drawn, b.Drawn)
		})
		p.contradictions(row, list)
	}
	if err := p.sorted(); err != nil {
		return nil, err
	}
	return p.coupon, nil
}

// couponParser walks the expressions of a form.
type couponParser struct {
	tomlText
	coupon *Coupon
}

func (p *couponParser) walk() {
	var up unstable.Parser
	up.Reset(p.data)
	var table []string
	for up.NextExpression() && len(p.faults) <= maxFaults {
		e := up.Expression()
		if e.Kind != unstable.Table && e.Kind != unstable.ArrayTable && e.Kind != unstable.KeyValue {
			continue
		}
		path, off := keyPath(e)
		if e.Kind != unstable.KeyValue {
			table = path
			p.open(path, off, e.Kind == unstable.ArrayTable)
			continue
		}
		full := slices.Concat(table, path)
		row := rowNamed(full[0])
		switch {
		case row == nil && len(table) > 0: // its table is already a fault
		case row == nil:
			p.fault(off, full[0], "stands outside the tables%s", didYouMean(full[0], couponTables()))
		case len(full) != 2:
			p.fault(off, strings.Join(full, "."), "is no result: write [%s] and below it MARK = ...", row.Table)
		default:
			p.result(row, full[1], off, e.Value())
		}
	}
}

func (p *couponParser) open(path []string, off int, array bool) {
	name := strings.Join(path, ".")
	switch {
	case rowNamed(name) == nil:
		p.fault(off, "["+name+"]", "is no table of a coupon's results%s", didYouMean(name, couponTables()))
	case array:
		p.fault(off, "[["+name+"]]", "may be there once only: write [%s]", name)
	}
}

func couponTables() []string {
	var names []string
	for i := range couponRows {
		names = append(names, couponRows[i].Table)
	}
	return names
}

// result takes one line.
func (p *couponParser) result(row *CouponRow, mark string, off int, v *unstable.Node) {
	key := row.Table + "." + mark
	i := slices.Index(row.Marks(), mark)
	if i < 0 {
		p.fault(off, key, "is no mark of the coupon; the %ss here are marked %s", row.What, strings.Join(row.Marks(), ", "))
		return
	}
	s := Setting{Form: Number, Unit: "mm", Low: 0, High: 10}
	if row.Answers != nil {
		s = Setting{Form: Word}
		for _, a := range row.Answers {
			s.Words = append(s.Words, string(a))
		}
	}
	r := CouponResult{Drawn: row.Drawn[i], Mark: mark, Line: p.line(off)}
	text, err := s.fromNode(v)
	switch {
	case err != nil:
	case row.Answers == nil:
		var n []float64
		if n, err = s.numbers(text, 1); err == nil {
			r.Measured = n[0]
		}
	case !slices.Contains(s.Words, text):
		err = fmt.Errorf("must be one of %s, not %q", strings.Join(s.Words, ", "), cut(text))
	default:
		r.Answer = Answer(text)
	}
	if err == nil && row.Answers == nil && r.Measured >= float64(widest*r.Drawn) {
		err = fmt.Errorf("is drawn %s mm wide and cannot have come out %s mm wide: measure it again or take the line out", plain(r.Drawn), plain(r.Measured))
	}
	if err != nil {
		p.fault(off, key, "%v", err)
		return
	}
	p.coupon.Results[row.Table] = append(p.coupon.Results[row.Table], r)
}

// contradictions finds results that come out worse as sizes rise.
func (p *couponParser) contradictions(row *CouponRow, list []CouponResult) {
	for k := 1; k < len(list); k++ {
		a, b := list[k-1], list[k]
		if row.Answers == nil && a.Measured <= b.Measured || row.Answers != nil && slices.Index(row.Answers, a.Answer) <= slices.Index(row.Answers, b.Answer) {
			continue
		}
		p.fault(p.lines[b.Line-1], row.Table+"."+b.Mark, "says %s, but the smaller %s on line %d says %s: measure both again, or take the line that is wrong out", b.said(), a.Mark, a.Line, a.said())
	}
}

// said is a result as it was written.
func (r *CouponResult) said() string {
	if r.Answer != "" {
		return fmt.Sprintf("%q", r.Answer)
	}
	return plain(r.Measured)
}
