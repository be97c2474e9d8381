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
}

// newPot returns nil for a nil pot.
func newPot(c *mold.PotCure) *potJSON {
	if c == nil {
		return nil
	}
	j := &potJSON{Gauge: num(c.Gauge), Absolute: num(c.Absolute), Volume: num(c.Volume), Diameter: num(c.Diameter), Needed: num(c.Needed), Present: num(c.Present), Up: placePtr(c.Up)}
	if c.Up != nil {
		j.Trapped = num(c.Left)
	}
	return j
}

type chargeJSON struct {
	Cavity    *float64 `json:"cavity_ml"`
	Gate      *float64 `json:"gate_ml"`
	Vents     *float64 `json:"vents_ml"`
	Reserve   *float64 `json:"reserve_ml"`
	Spare     *float64 `json:"spare_ml"`
	Total     *float64 `json:"total_ml"`
	Density   *float64 `json:"density_g_ml"`
	Mass      *float64 `json:"mass_g"`
	A         *float64 `json:"a_g"`
	B         *float64 `json:"b_g"`
	VolumeA   *float64 `json:"a_ml"`
	VolumeB   *float64 `json:"b_ml"`
	Pigment   *float64 `json:"pigment_g"`
	Smallest  *float64 `json:"smallest_batch_g"`
	Shots     int      `json:"casts_per_smallest_batch"`
	Batches   int      `json:"batches"`
	Syringe   *float64 `json:"syringe_ml"`
	Syringes  *int     `json:"syringe_fillings"`
	FillTime  *float64 `json:"fill_s"`
	PotLife   *float64 `json:"pot_life_s"`
	Degas     *float64 `json:"degas_vessel_ml"`
	Head      *float64 `json:"head_kpa"`
	GateDrop  *float64 `json:"gate_drop_kpa"`
	Plunger   *float64 `json:"plunger_n"`
	Projected *float64 `json:"projected_mm2"`
	Opening   *float64 `json:"opening_force_n"`
	Jammed    *float64 `json:"opening_force_blocked_n"`
}

// newCharge returns nil for a nil charge. Nulls are values that the user did not give:
// the finding charge/missing says which.
func newCharge(c *mold.Charge, job *mold.Job) *chargeJSON {
	if c == nil {
		return nil
	}
	maybe := func(x *float64) *float64 {
		if x == nil {
			return nil
		}
		return num(*x)
	}
	j := &chargeJSON{Cavity: num(c.Cavity), Gate: num(c.Gate), Vents: num(c.Vents), Reserve: num(c.Reserve), Spare: num(c.Spare), Total: num(c.Total), Density: num(c.Density), Mass: num(c.Mass),
		Pigment: num(c.Pigment), Smallest: num(c.SmallestBatch), Shots: c.Shots, Batches: c.Batches, Syringes: c.Syringes, FillTime: num(c.FillTime), PotLife: maybe(c.PotLife), Degas: num(c.Degas),
		Head: num(c.Head), GateDrop: num(c.GateDrop), Plunger: maybe(c.Plunger), Projected: num(c.Projected), Opening: num(c.Opening), Jammed: maybe(c.OpeningJammed)}
	if m := c.Mix; m != nil {
		j.A, j.B, j.VolumeA, j.VolumeB = num(m.A), num(m.B), maybe(m.VolumeA), maybe(m.VolumeB)
	}
	if job.Liquid.SyringeMl > 0 {
		j.Syringe = num(job.Liquid.SyringeMl)
	}
	return j
}
