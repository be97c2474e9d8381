package report
import ("testing";"fmt";"pourproof/checks/mold")
func TestDbg(t *testing.T){
 o := pouredCase(t, "demo", mold.Tilt{Angle: 15*3.141592653589793/180})
 s := newStudio(o)
 for i := range s.fill.Pockets { p:=&s.fill.Pockets[i]; fmt.Printf("%d vol %.3f exact %v some %v area?\n", i, p.Volume, s.stained.patches[i].air!=nil, s.stained.patches[i].some)
  if a:=s.stained.patches[i].air; a!=nil {fmt.Println(a.Volume())} }
 
}
