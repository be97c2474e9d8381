package mold

import "pourproof/geom"

// Role says what a channel does.
type Role string

// The roles of a channel.
const (
	Gate  Role = "gate"  // resin enters here
	Vent  Role = "vent"  // reaches the outside and is not the gate
	Blind Role = "blind" // leaves the cavity and ends inside the rubber
)

// PocketKind says why air stays.
type PocketKind string

// The kinds of air pocket (design: ceiling and basin count as trapped).
const (
	Ceiling   PocketKind = "ceiling"   // air above the resin, permanent at this tilt
	Basin     PocketKind = "basin"     // air below a covered opening; it may burp out
	Capillary PocketKind = "capillary" // so narrow that surface tension can hold air; counted as filled
)

// Channel is a bore or gap that leaves the cavity: the gate, a vent, or a blind
// one. Lengths mm, volumes mm3, points in the CAD frame.
type Channel struct {
	ID       int // 1, 2, … in the order of Mouth (X, Y, Z)
	Role     Role
	Assumed  bool // the gate was chosen by rule, not named by the user
	Slit     bool // a gap or slot: its mouth is far longer than it is wide
	Tried    bool // a bore tried out with --vent or --try
	Mouth    geom.Vec
	Joins    int       // the channel that an arm runs into on its way to the outside, 0 for none
	Exit     *geom.Vec // nil for a blind channel; of an arm that of the channel it joins
	End      geom.Vec  // the exit, where an arm joins another, or the far end of a blind channel
	Axis     geom.Vec  // unit, from the mouth into the channel
	ExitAxis geom.Vec  // unit, outward at the far end

	Diameter      float64 // of the largest ball that passes
	Narrowest     geom.Vec
	MouthDiameter float64
	WidestBeyond  float64 // largest diameter between the neck and the exit
	Length        float64
	Volume        float64
	Half          string     // name of the half whose rubber forms it, or "parting"
	Path          []geom.Vec // centre line from mouth to end
	Radius        []float64  // clear radius at each point of Path
	rim           []geom.Vec // of the mouth; nil where it is read off the columns

	// The pour's answers (Fill.Ports only), in ml of resin that has left the gate's
	// mouth; nil where the event does not happen.
	WeepsAt    *float64 // first drip at the exit
	PlugAt     *float64 // exit wholly covered
	WeepsOrder int      // 1 = first to weep, 0 = never
	MouthTop   float64  // highest point of the mouth along up
	MouthLow   float64
	sampledTop float64 // MouthTop as read off the columns
	GapToHigh  float64 // height of the high point above the mouth's top; 0 where none
	Drains     []int   // indices of the high points whose air leaves here
}

// Pocket is air that the resin cuts off. Heights are measured along up from the
// CAD origin.
type Pocket struct {
	ID            int
	Kind          PocketKind
	Volume        float64 // mm3 inside the part
	ChannelVolume float64 // mm3 of the same air in a channel beyond the part
	Top, Bottom   geom.Vec
	SealedAt      float64 // height of the resin when the air was cut off
	Depth         float64 // from SealedAt up to Top
	Error         float64 // mm3
	Marginal      bool    // a decision closer than 0.05 mm was run both ways and differs
	Level         bool    // within 2 deg of a level ceiling: holds a film of bubbles
	Spoils        float64 // mm2 of the part's surface that the air touches
	Show          string  // a show face that the air touches; empty for none
	Near          int     // nearest channel's ID, 0 for none
	NearDistance  float64
	Vent          *SuggestedVent // of Fill.Vents, the first that frees it
}

// SuggestedVent is a straight bore that frees a pocket, proven by a second pour.
type SuggestedVent struct {
	ID        int
	Mouth     geom.Vec
	Exit      geom.Vec
	Direction geom.Vec // unit, from mouth to exit
	Diameter  float64
	Length    float64
	Half      string
	Frees     float64 // mm3 less trapped air with this bore alone
	Gain      float64 // mm3 less trapped air once the vents before it are there
	Pockets   []int   // IDs of the pockets that it frees alone
	Show      string  // the show face that its mouth lies on; empty for none
}

// HighPoint is a local maximum of the cavity at the pour's tilt.
type HighPoint struct {
	At         geom.Vec
	Height     float64
	Prominence float64
	VentedBy   int // channel ID, 0 for none
	Pocket     int // pocket ID, 0 for none
}

// Stage is the state of the pour after some of the resin is in.
type Stage struct {
	Percent float64    // of the filled volume
	Filled  float64    // mm3
	Level   float64    // height of the pool that rises at this moment
	Front   []geom.Vec // a place on the surface of every pool, the widest first, at most 8
}

// Fill is one pour: what is filled, what stays empty, where the air is.
type Fill struct {
	Up                geom.Vec
	TiltAngle         float64 // radians off the rest direction
	TiltSide          float64 // azimuth of the raised side, radians
	Cell              float64 // column pitch, mm
	Cavity            float64 // mm3, = Filled + Trapped + Unreached
	Channels          float64 // mm3 of all channels
	Filled            float64
	Trapped           float64 // ceiling and basin pockets and Small, inside the part
	TrappedError      float64
	Unreached         float64
	Marginal          bool
	SmallCount        int // pockets below their error or 1 mm3
	SmallVolume       float64
	UnreachedAt       *geom.Vec
	Pockets           []Pocket
	HighPoints        []HighPoint
	Stages            []Stage
	Ports             []Channel       // the mold's channels, with the answers of this pour: read these, not Mold.Channels
	Clinging          []Clinging      // holes whose air surface tension can hold; counted as filled, not in Pockets; Cling fills it in
	Vents             []SuggestedVent // the fewest that free the pockets, in order of gain
	VentsLeave        float64         // mm3 trapped with all of them
	LevelCeilingArea  float64         // mm2 of cavity roof within 2 deg of level where air lies or films can stay
	LevelCeilingAt    *geom.Vec
	LowestCavityPoint geom.Vec
	HighestPoint      float64 // height of the cavity's top along up

	air    *airField
	stages *stageField
}
