package column
import ("testing";"syscall";"strings";"os";"encoding/binary";"math";"pourproof/geom")
func loadSTL(b testing.TB, name string) *geom.Mesh {
	d,err:=os.ReadFile(name); if err!=nil {b.Skip(err)}
	n:=int(binary.LittleEndian.Uint32(d[80:]))
	w:=geom.NewWelder(n)
	for i:=0;i<n;i++{ p:=d[84+50*i+12:]; var f [9]float64; for k:=range f { f[k]=float64(math.Float32frombits(binary.LittleEndian.Uint32(p[4*k:])))}
		w.Add(geom.Vec{X:f[0],Y:f[1],Z:f[2]},geom.Vec{X:f[3],Y:f[4],Z:f[5]},geom.Vec{X:f[6],Y:f[7],Z:f[8]})}
	return w.Mesh()
}
var names=[]string{"sphere-100k","sphere-1M","mold-1M","gyroid-1M","shuffled-1M"}
func BenchmarkZZ(b *testing.B){
	for _,n:=range names{
		m:=loadSTL(b,"/tmp/perf/mesh/"+n+".stl")
		lat:=latticeOver(b,geom.Identity(),0.25,m)
		b.Run(n+"/snap",func(b *testing.B){for b.Loop(){Snap(lat,[]*geom.Mesh{m},nil)}})
		s:=Snap(lat,[]*geom.Mesh{m},nil)
		b.Run(n+"/cast",func(b *testing.B){ l:=&Lines{}; for b.Loop(){s.castInto(l,2)}})
		b.Run(n+"/castnew",func(b *testing.B){ for b.Loop(){s.Cast(2)}})
		b.Run(n+"/castx",func(b *testing.B){ l:=&Lines{}; for b.Loop(){s.castInto(l,0)}})
	}
}
func cpuNow() float64 { var r syscall.Rusage; syscall.Getrusage(syscall.RUSAGE_SELF,&r); return float64(r.Utime.Sec+r.Stime.Sec)*1e3+float64(r.Utime.Usec+r.Stime.Usec)/1e3 }
func TestZZCPU(t *testing.T){
	ns:=names; if e:=os.Getenv("ZZ"); e!="" { ns=strings.Split(e,",") }
	for _,n:=range ns{
		m:=loadSTL(t,"/tmp/perf/mesh/"+n+".stl")
		lat:=latticeOver(t,geom.Identity(),0.25,m)
		s:=Snap(lat,[]*geom.Mesh{m},nil)
		best:=func(f func()) float64 { f(); b:=1e9; for range 25 { c:=cpuNow(); f(); b=min(b,cpuNow()-c)}; return b }
		l:=&Lines{}
		t.Logf("%-12s snap %.2f  cast z %.2f x %.2f y %.2f  new z %.2f", n, best(func(){Snap(lat,[]*geom.Mesh{m},nil)}), best(func(){s.castInto(l,2)}), best(func(){s.castInto(l,0)}), best(func(){s.castInto(l,1)}), best(func(){s.Cast(2)}))
	}
}
func TestZZPhase(t *testing.T){
	ns:=names; if e:=os.Getenv("ZZ"); e!="" { ns=strings.Split(e,",") }
	for _,n:=range ns{
		m:=loadSTL(t,"/tmp/perf/mesh/"+n+".stl")
		lat:=latticeOver(t,geom.Identity(),0.25,m)
		s:=Snap(lat,[]*geom.Mesh{m},nil)
		best:=func(f func()) float64 { f(); b:=1e9; for range 25 { c:=cpuNow(); f(); b=min(b,cpuNow()-c)}; return b }
		l:=&Lines{NU:lat.N[0],NV:lat.N[1],Axis:2}
		w:=new(workspace)
		sc:=scanner{u:0,v:1,w:2,bits:16,nu:int32(l.NU),nv:int32(l.NV)}
		a:=best(func(){ sc.hits=w.hits[:0]; sc.body(s.coord[0],m.Facets,0); w.hits=sc.hits })
		b:=best(func(){ w.sort(l.NU*l.NV)})
		c:=best(func(){ s.spans(l,w.sorted,w.start)})
		t.Logf("%-12s scan %.2f sort %.2f spans %.2f  hits %d", n,a,b,c,len(w.hits))
	}
}
