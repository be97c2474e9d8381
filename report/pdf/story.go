package pdf

import (
	"image"
	"image/color"
)

// BlockKind tells the blocks of a story apart.
type BlockKind uint8

// The blocks, each with the fields of Block that it fills.
const (
	TitleBlock   BlockKind = iota // Title, Runs: what stands below it
	HeadingBlock                  // Level, Title
	ParaBlock                     // Runs
	NoteBlock                     // Runs
	ListBlock                     // Items
	BannerBlock                   // Mark, Ink, Title, Runs
	CautionBlock                  // Title, Runs
	NumbersBlock                  // Numbers
	PairsBlock                    // Pairs
	FieldsBlock                   // Fields
	TableBlock                    // Table
	FigureBlock                   // Figures
)

// Block is one piece of a document as it was asked for, before it is set on pages.
type Block struct {
	Kind    BlockKind
	Anchors []string // names of this place
	Level   int
	Mark    Mark
	Ink     color.RGBA
	Title   string
	Runs    Runs
	Items   []Runs
	Table   Table
	Numbers []Number
	Pairs   []Pair
	Fields  []Field
	Figures []Drawing
}

// Drawing is a figure of a story.
type Drawing struct {
	Width, Height float64     // points
	SVG           string      // what is inside the svg element; ImageHere where the image's address belongs
	Image         image.Image // nil for one without
	Caption       Runs
	Strip         bool // one of a strip of small ones
}

// Story returns what the document says in order, for another form than paper.
// Anchors that nothing followed are at the end, in a block without text.
func (d *Doc) Story() []Block {
	out := d.story
	if len(d.storyAnchors) > 0 {
		out = append(out[:len(out):len(out)], Block{Kind: ParaBlock, Anchors: d.storyAnchors})
	}
	return out
}

// tell adds a block to the story.
func (d *Doc) tell(b Block) {
	b.Anchors, d.storyAnchors = d.storyAnchors, nil
	d.story = append(d.story, b)
}
