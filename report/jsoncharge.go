package report

import "pourproof/checks/mold"

type potJSON struct {
	Gauge    *float64 `json:"gauge_kpa"`
	Absolute *float64 `json:"absolute_kpa"`
	Volume   *float64 `json:"volume_ratio"`
	Diameter *float64 `json:"diameter_ratio"`
	Needed   *float64 `json:"reserve_needed_ml"`
	Present  *float64 `json:"reserve_present_ml"`
	Up       *vec     `json:"up"`
	Trapped  *float64 `json:"trapped_mm3"`
	Why      whyJSON  `json:"why"`
}

// whyJSON holds, for fields of its object that are null, the reason by their name.
// encoding/json writes the names in order.
type whyJSON map[string]string

// because notes one reason for fields.
func (w whyJSON) because(reason string, fields ...string) {
	for _, f := range fields {
		w[f] = reason
	}
}

// newPot returns nil for a nil pot.
func newPot(c *mold.PotCure) *potJSON {
	if c == nil {
		return nil
	}
	j := &potJSON{Gauge: num(c.Gauge), Absolute: num(c.Absolute), Volume: num(c.Volume), Diameter: num(c.Diameter), Needed: num(c.Needed), Present: num(c.Present), Up: placePtr(c.Up), Why: whyJSON{}}
	if c.Up != nil {
		j.Trapped = num(c.Left)
	} else {
		j.Why.because("[pot] up is not given", "up", "trapped_mm3")
	}
	return j
}

type chargeJSON struct {
	Cavity    *float64  `json:"cavity_ml"`
	Gate      *float64  `json:"gate_ml"`
	Vents     *float64  `json:"vents_ml"`
	Reserve   *float64  `json:"reserve_ml"`
	Spare     *float64  `json:"spare_ml"`
	Total     *float64  `json:"total_ml"`
	Density   *float64  `json:"density_g_ml"`
	Mass      *float64  `json:"mass_g"`
	A         *float64  `json:"a_g"`
	B         *float64  `json:"b_g"`
	VolumeA   *float64  `json:"a_ml"`
	VolumeB   *float64  `json:"b_ml"`
	ToMass    *float64  `json:"b_to_100_a_by_mass"`
	ToVolume  *float64  `json:"b_to_100_a_by_volume"`
	RatioFrom *string   `json:"ratio_given_by"`
	Pigment   *float64  `json:"pigment_g"`
	Mixes     []mixJSON `json:"mixes"`
	Smallest  *float64  `json:"smallest_batch_g"`
	Shots     int       `json:"casts_per_smallest_batch"`
	Batches   int       `json:"batches"`
	Syringe   *float64  `json:"syringe_ml"`
	Syringes  *int      `json:"syringe_fillings"`
	FillTime  *float64  `json:"fill_s"`
	PotLife   *float64  `json:"pot_life_s"`
	Degas     *float64  `json:"degas_vessel_ml"`
	Head      *float64  `json:"head_kpa"`
	GateDrop  *float64  `json:"gate_drop_kpa"`
	VentDrop  *float64  `json:"vent_drop_kpa"`
	Plunger   *float64  `json:"plunger_n"`
	Projected *float64  `json:"projected_mm2"`
	Opening   *float64  `json:"opening_force_n"`
	Jammed    *float64  `json:"opening_force_blocked_n"`
	Why       whyJSON   `json:"why"`
}

type mixJSON struct {
	Count   int      `json:"count"`
	Casts   int      `json:"casts"`
	Volume  *float64 `json:"volume_ml"`
	Mass    *float64 `json:"mass_g"`
	A       *float64 `json:"a_g"`
	B       *float64 `json:"b_g"`
	VolumeA *float64 `json:"a_ml"`
	VolumeB *float64 `json:"b_ml"`
	Pigment *float64 `json:"pigment_g"`
}

// newCharge returns nil for a nil charge.
func newCharge(c *mold.Charge, job *mold.Job) *chargeJSON {
	if c == nil {
		return nil
	}
	j := &chargeJSON{Cavity: num(c.Cavity), Gate: num(c.Gate), Vents: num(c.Vents), Reserve: num(c.Reserve), Spare: num(c.Spare), Total: num(c.Total), Density: num(c.Density), Mass: num(c.Mass),
		Pigment: num(c.Pigment), Mixes: []mixJSON{}, Smallest: num(c.SmallestBatch), Shots: c.Shots, Batches: c.Batches, Syringes: c.Syringes, FillTime: num(c.FillTime), PotLife: numPtr(c.PotLife), Degas: num(c.Degas),
		Head: num(c.Head), GateDrop: num(c.GateDrop), VentDrop: numPtr(c.VentDrop), Plunger: numPtr(c.Plunger), Projected: num(c.Projected), Opening: numPtr(c.Opening), Jammed: numPtr(c.OpeningJammed), Why: whyJSON{}}
	if m := c.Mix; m != nil {
		from := "mass"
		if m.ByVolume {
			from = "volume"
		}
		j.A, j.B, j.VolumeA, j.VolumeB = num(m.A), num(m.B), numPtr(m.VolumeA), numPtr(m.VolumeB)
		j.ToMass, j.ToVolume, j.RatioFrom = num(m.ToMass), numPtr(m.ToVolume), &from
	}
	for i := range c.Weigh {
		w := &c.Weigh[i]
		row := mixJSON{Count: w.Count, Casts: w.Casts, Volume: num(w.Volume), Mass: num(w.Mass), Pigment: num(w.Pigment)}
		if m := w.Mix; m != nil {
			row.A, row.B, row.VolumeA, row.VolumeB = num(m.A), num(m.B), numPtr(m.VolumeA), numPtr(m.VolumeB)
		}
		j.Mixes = append(j.Mixes, row)
	}
	if job.Liquid.SyringeMl > 0 {
		j.Syringe = num(job.Liquid.SyringeMl)
	}
	j.why(c)
	return j
}

// why names the values of the user's that nulls are missing.
func (j *chargeJSON) why(c *mold.Charge) {
	switch {
	case c.Mix == nil:
		j.Why.because("[liquid] ratio_mass is not given, nor ratio_volume with density_a and density_b", "a_g", "b_g", "a_ml", "b_ml", "b_to_100_a_by_mass", "b_to_100_a_by_volume", "ratio_given_by")
	case c.Mix.VolumeA == nil:
		j.Why.because("[liquid] density_a and density_b are not given", "a_ml", "b_ml", "b_to_100_a_by_volume")
	}
	if j.Syringe == nil {
		j.Why.because("[liquid] syringe_ml is not given", "syringe_ml", "syringe_fillings")
	}
	if c.PotLife == nil {
		j.Why.because("[liquid] pot_life_s is not given", "pot_life_s")
	}
	if c.Plunger == nil {
		j.Why.because("[liquid] plunger_mm is not given", "plunger_n", "opening_force_blocked_n")
	}
	if c.VentDrop == nil {
		j.Why.because("no vent reaches the outside", "vent_drop_kpa", "opening_force_n")
	}
}
