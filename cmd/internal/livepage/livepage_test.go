package livepage

import (
	"bufio"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"
)

func started(t *testing.T) *Server {
	t.Helper()
	s, err := New()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return s
}

// said sends bytes to the server and gives its answer, with the body.
func said(t *testing.T, s *Server, request string) (*http.Response, string) {
	t.Helper()
	c, err := net.Dial("tcp4", s.host)
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	_ = c.SetDeadline(time.Now().Add(10 * time.Second))
	if _, err := io.WriteString(c, request); err != nil {
		t.Fatal(err)
	}
	r, err := http.ReadResponse(bufio.NewReader(c), nil)
	if err != nil {
		t.Fatalf("%.80q: %v", request, err)
	}
	defer r.Body.Close()
	body, _ := io.ReadAll(r.Body)
	return r, string(body)
}

const secret = "<p>a secret number</p>"

// TestAttacks: what another program, another user or a page of another site may try.
func TestAttacks(t *testing.T) {
	t.Parallel()
	s := started(t)
	p := s.Open()
	p.Set([]byte(secret))
	path := strings.TrimPrefix(p.Address(), "http://"+s.host)
	_, port, _ := net.SplitHostPort(s.host)
	get := func(path, host string, more ...string) string {
		return "GET " + path + " HTTP/1.1\r\nHost: " + host + "\r\n" + strings.Join(more, "") + "Connection: close\r\n\r\n"
	}
	for _, x := range []struct {
		what, request string
		status        int
	}{
		{"the address as it is given", get(path, s.host), 200},
		{"the page's own script", get(path+"next?after=0", s.host, "Sec-Fetch-Site: same-origin\r\n"), 200},
		{"an address that was typed", get(path, s.host, "Sec-Fetch-Site: none\r\n"), 200},
		{"no token", get("/", s.host), 404},
		{"an empty token", get("//", s.host), 404},
		{"a wrong token", get("/"+strings.Repeat("A", len(p.token))+"/", s.host), 404},
		{"a token cut short", get("/"+p.token[:len(p.token)-1]+"/", s.host), 404},
		{"a token and more", get("/"+p.token+"A/", s.host), 404},
		{"a token in other letters", get("/"+strings.ToLower(p.token)+"/", s.host), 404},
		{"a file beside the page", get(path+"index.html", s.host), 404},
		{"a path that leads up", get(path+"../../../etc/passwd", s.host), 404},
		{"one that leads up and back", get("/x/.."+path, s.host), 404},
		{"an encoded path that leads up", get(path+"%2e%2e/%2e%2e/etc/passwd", s.host), 404},
		{"a backslash", get(path+`..\..\x`, s.host), 404},
		{"a doubled slash", get("/"+path, s.host), 404},
		{"an encoded zero", get(path+"%00", s.host), 404},
		{"a version that is none", get(path+"next?after=x", s.host), 404},
		{"a version beyond all", get(path+"next?after=99999999999999999999999", s.host), 404},
		{"another host: a name that resolves to this computer", get(path, "rebound.example:"+port), 403},
		{"this computer by another name", get(path, "localhost:"+port), 403},
		{"another port", get(path, "127.0.0.1:1"), 403},
		{"no port", get(path, "127.0.0.1"), 403},
		{"an empty host", get(path, ""), 403},
		{"another host within the request line", get("http://rebound.example"+path, s.host), 403},
		{"HTTP/1.0 without a host", "GET " + path + " HTTP/1.0\r\n\r\n", 403},
		{"a script of another site", get(path, s.host, "Origin: http://evil.example\r\n"), 403},
		{"a script of a file", get(path, s.host, "Origin: null\r\n"), 403},
		{"a script of another port of this computer", get(path, s.host, "Origin: http://127.0.0.1:1\r\n"), 403},
		{"two origins, one of them right", get(path, s.host, "Origin: http://"+s.host+"\r\n", "Origin: http://evil.example\r\n"), 403},
		{"a link or frame of another site", get(path, s.host, "Sec-Fetch-Site: cross-site\r\n"), 403},
		{"a page of another port of this computer", get(path, s.host, "Sec-Fetch-Site: same-site\r\n"), 403},
		{"writing", "POST " + path + " HTTP/1.1\r\nHost: " + s.host + "\r\nContent-Length: 0\r\nConnection: close\r\n\r\n", 405},
		{"asking what may be written", "OPTIONS " + path + " HTTP/1.1\r\nHost: " + s.host + "\r\nOrigin: http://evil.example\r\nConnection: close\r\n\r\n", 403},
		{"a tunnel", "CONNECT evil.example:443 HTTP/1.1\r\nHost: evil.example:443\r\n\r\n", 403},
		{"two hosts", "GET " + path + " HTTP/1.1\r\nHost: " + s.host + "\r\nHost: evil.example\r\nConnection: close\r\n\r\n", 400},
		{"a head without end", get(path, s.host, "X: "+strings.Repeat("x", 3*headSize)+"\r\n"), 431},
	} {
		r, body := said(t, s, x.request)
		if r.StatusCode != x.status {
			t.Errorf("%s: %s, want %d", x.what, r.Status, x.status)
		}
		if got := strings.Contains(body, secret); got != (x.status == 200) {
			t.Errorf("%s: %s %s", x.what, r.Status, body)
		}
		if r.Header.Get("Access-Control-Allow-Origin") != "" {
			t.Errorf("%s: other sites may read the answer", x.what)
		}
		if x.status == 400 || x.status == 431 {
			continue // refused before it is a request
		}
		for name, want := range map[string]string{
			"Content-Security-Policy": "default-src 'none'; script-src 'sha256-", "X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer",
			"Cache-Control": "no-store", "Cross-Origin-Resource-Policy": "same-origin", "X-Frame-Options": "DENY",
		} {
			if got := r.Header.Get(name); !strings.HasPrefix(got, want) {
				t.Errorf("%s: %s: %q, want %q", x.what, name, got, want)
			}
		}
	}
	if csp := Policy; strings.Contains(csp, "unsafe-eval") || strings.Contains(csp, "*") || !strings.Contains(csp, "frame-ancestors 'none'") {
		t.Error(csp)
	}
}

// TestLoopbackOnly: nothing listens at another address of the computer.
func TestLoopbackOnly(t *testing.T) {
	t.Parallel()
	s := started(t)
	host, port, err := net.SplitHostPort(s.host)
	if err != nil || !net.ParseIP(host).IsLoopback() {
		t.Fatalf("listens at %s", s.host)
	}
	all, err := net.InterfaceAddrs()
	if err != nil {
		t.Skip(err)
	}
	for _, a := range all {
		ip, is := a.(*net.IPNet)
		if !is || ip.IP.IsLoopback() {
			continue
		}
		if c, err := net.DialTimeout("tcp", net.JoinHostPort(ip.IP.String(), port), 200*time.Millisecond); err == nil {
			c.Close()
			t.Errorf("it listens at %s", ip.IP)
		}
	}
}

// TestFollows: who waits gets the page as soon as it is another one, and hears when no
// other will follow.
func TestFollows(t *testing.T) {
	t.Parallel()
	s := started(t)
	p := s.Open()
	p.Set([]byte("one"))
	next := func(after int) string {
		return strings.TrimPrefix(p.Address(), "http://"+s.host) + fmt.Sprintf("next?after=%d", after)
	}
	ask := func(path string) (*http.Response, string) {
		return said(t, s, "GET "+path+" HTTP/1.1\r\nHost: "+s.host+"\r\nConnection: close\r\n\r\n")
	}
	if r, body := ask(next(0)); body != "one" || r.Header.Get("Version") != "1" {
		t.Errorf("%v %s", r, body)
	}
	type answer struct{ version, body string }
	got := make(chan answer)
	go func() {
		r, body := ask(next(1))
		got <- answer{r.Header.Get("Version"), body}
	}()
	select {
	case a := <-got:
		t.Fatalf("answered before there was a change: %v", a)
	case <-time.After(30 * time.Millisecond):
	}
	p.Set([]byte("two"))
	if a := <-got; a != (answer{"2", "two"}) {
		t.Error(a)
	}
	go func() {
		r, _ := ask(next(2))
		got <- answer{r.Status, ""}
	}()
	for range mostPages {
		s.Open().Set([]byte("other"))
	}
	if a := <-got; a.version != "404 Not Found" {
		t.Errorf("a page that others took the place of: %v", a)
	}
	if r, _ := ask(strings.TrimPrefix(p.Address(), "http://"+s.host)); r.StatusCode != 404 {
		t.Errorf("its address: %s", r.Status)
	}
	p.Set([]byte("three")) // for nobody
}

// TestTokens: no two pages have the same address, and none is short.
func TestTokens(t *testing.T) {
	t.Parallel()
	s := started(t)
	seen := map[string]bool{}
	for range 100 {
		p := s.Open()
		if seen[p.token] || len(p.token) < 26 { // 26 letters of 32 are 130 bits
			t.Fatalf("%q", p.token)
		}
		seen[p.token] = true
	}
}

// TestConnections: who keeps connections open without a request does not keep the
// server from ending, and is cut off.
func TestConnections(t *testing.T) {
	t.Parallel()
	s := started(t)
	var held []net.Conn
	for range 2 * mostConnections {
		c, err := net.DialTimeout("tcp4", s.host, time.Second)
		if err != nil {
			break
		}
		held = append(held, c)
	}
	begun := time.Now()
	s.Close()
	if took := time.Since(begun); took > 2*time.Second {
		t.Errorf("closing took %s", took)
	}
	for _, c := range held {
		c.Close()
	}
	if _, err := net.DialTimeout("tcp4", s.host, 200*time.Millisecond); err == nil {
		t.Error("it listens on")
	}
}
