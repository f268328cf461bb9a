package spec
import ("testing";"testing/fstest";"strings";"time";"fmt";"runtime";"os")
func TestAdv(t *testing.T){
 sz:=MaxFileSize-200
 fill:=func(pre,s,post string)string{ n:=(sz-len(pre)-len(post))/len(s); return pre+strings.Repeat(s,n)+post}
 cases:=map[string]string{
 "bang":fill("a = ","!","1"),
 "minus":fill("a = ","-","1"),
 "plus":fill("axis \"a\" {\n load {\n mass = 1","+1","\n}\n}\n"),
 "and":fill("axis \"a\" {\n load {\n mass = true","&&true","\n}\n}\n"),
 "plusnl":fill("axis \"a\" {\n load {\n mass = (1","\n-1",")\n}\n}\n"),
 "index":fill("axis \"a\" {\n load {\n mass = a","[b]","\n}\n}\n"),
 "index0":fill("axis \"a\" {\n load {\n mass = a","[0]","\n}\n}\n"),
 "strbr":fill("axis \"a\" {\n load {\n mass = ","[\"]\",",""),
 "splat":fill("axis \"a\" {\n load {\n mass = a","[*]","\n}\n}\n"),
 "splat2":fill("axis \"a\" {\n load {\n mass = a",".*","\n}\n}\n"),
 "ifs":fill("axis \"a\" {\n load {\n mass = \"","%{if a}","\"\n}\n}\n"),
 "quest":fill("a = ","a?b:","a"),
 "tmpl":fill("a = ","\"${",""),
 "heredoc":fill("a = ","<<A\n${",""),
 "dup":fill("","a=1\n",""),
 "unk":fill("axis \"a\" {\n","b {}\n","}\n"),
 "axisrefs":fill("axis \"a\" {\n load {\n carries = [","axis.b,","axis.b]\n}\n}\n"),
 "interp":fill("given { a = \""+strings.Repeat("x",4000)+"\" }\naxis \"a\" {\n description=\"","${given.a}","\"\n}\n"),
 "parts":fill("axis \"a\" {\n","screw {\n part = screw.a\n }\n","}\n"),
 "axes":fill("","axis \"b\" {}\n",""),
 "quotes":fill("a = ","\"\n",""),
 "rawq":fill("a = ","\"",""),
 "dots":fill("a = b",".c","\n"),
 "braces":fill("","a {\n",""),
 "comma":fill("axis \"a\" {\n load {\n carries = [","1,","]\n}\n}\n"),
 "backslash":fill("a = \"",`\q`,"\"\n"),
 "semi":fill("",";",""),
 "unknownlong":fill("axis \"a\" {\n","a","=1\n}\n"),
 "callnest":fill("a = ","f(",""),
 "nums":fill("a = ","1","\n"),
 "objs":fill("a = {","b=1\n","}\n"),
 "heredocs":fill("","<<A\n",""),
 "colons":fill("a = ","a::","f()\n"),
 }
 var g strings.Builder; g.WriteString("given {\n"); for i:=0;g.Len()<sz-40;i++{fmt.Fprintf(&g,"a%d = \"${given.a%d}\"\n",i,i/2)}; g.WriteString("}\n"); cases["givens"]=g.String()
 g.Reset(); g.WriteString("given {\n"); for i:=0;g.Len()<sz-40;i++{fmt.Fprintf(&g,"a%d = \"${given.b%d}\"\n",i,i)}; g.WriteString("}\n"); cases["givensunk"]=g.String()
 g.Reset(); g.WriteString("given {\n"); for i:=0;g.Len()<sz-40;i++{fmt.Fprintf(&g,"a%d = 1\n",i)}; g.WriteString("}\n"); cases["givens1"]=g.String()
 g.Reset(); g.WriteString("given {\n"); for i:=0;g.Len()<sz-40;i++{fmt.Fprintf(&g,"a%d=given.a%d\n",i,i+1)}; g.WriteString("}\n"); cases["givenschain"]=g.String()
 g.Reset(); g.WriteString("axis \"a\" {\n"); for i:=0;g.Len()<sz-40;i++{fmt.Fprintf(&g,"a%d=1\n",i)}; g.WriteString("}\n"); cases["unkattr"]=g.String()
 g.Reset(); g.WriteString("axis \"a\" {\nmotion {\n"); for i:=0;g.Len()<sz-40;i++{fmt.Fprintf(&g,"move \"a%d\" {}\n",i)}; g.WriteString("}\n}\n"); cases["moves"]=g.String()
 only:=os.Getenv("ADV")
 for n,src:=range cases{ if only!="" && n!=only {continue}
  t0:=time.Now()
  var m0,m1 runtime.MemStats; runtime.GC(); runtime.ReadMemStats(&m0)
  tr:=NewTree(fstest.MapFS{"x.axis.hcl":{Data:[]byte(src)}})
  f:=tr.ReadAxes("x.axis.hcl")
  runtime.ReadMemStats(&m1)
  msg:=""; if len(f.Problems)>0 {msg=f.Problems[0].Place.String()+" "+clip2(f.Problems[0].Message)}
  fmt.Printf("%-12s %8s alloc %4d MB sys %4d problems %d %s\n",n,time.Since(t0).Round(time.Millisecond),(m1.TotalAlloc-m0.TotalAlloc)>>20,(m1.HeapSys)>>20,len(f.Problems),msg)
 }
}
func clip2(s string)string{ if len(s)>150{return s[:150]}; return s}
