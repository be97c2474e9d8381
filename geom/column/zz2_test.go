package column
import ("testing";"pourproof/geom")
func TestZZStat(t *testing.T){
	for _,n:=range names[:4]{
		m:=loadSTL(t,"/tmp/perf/mesh/"+n+".stl")
		lat:=latticeOver(t,geom.Identity(),0.25,m)
		s:=Snap(lat,[]*geom.Mesh{m},nil)
		sc:=scanner{u:0,v:1,w:2,bits:16,nu:int32(lat.N[0]),nv:int32(lat.N[1])}
		pass,cells,rows:=0,0,0
		sz:=map[[2]int32]int{}
		for _,f:=range m.Facets{
			a,b,c:=sc.cellOf(&s.coord[0][f[0]]),sc.cellOf(&s.coord[0][f[1]]),sc.cellOf(&s.coord[0][f[2]])
			if d := (a ^ b) | (a ^ c); d&0xffff == 0 || d>>16 == 0 { continue }
			u:=int32(max(a&0xffff, b&0xffff, c&0xffff))-int32(min(a&0xffff, b&0xffff, c&0xffff))
			v:=int32(max(a, b, c)>>16)-int32(min(a, b, c)>>16)
			pass++; cells+=int(u*v); rows+=int(v); sz[[2]int32{u,v}]++
		}
		t.Log(n,len(m.Facets),pass,rows,cells,sz[[2]int32{1,1}],sz[[2]int32{1,2}]+sz[[2]int32{2,1}],sz[[2]int32{2,2}])
	}
}
