//go:build outside

package report

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"
)

// browser is a headless Chromium that is spoken to over two pipes, by its
// DevTools protocol: messages of JSON, each ended by a zero byte.
type browser struct {
	t       *testing.T
	in      io.WriteCloser
	answers chan message
	session string
	id      int
	faults  []string // exceptions and errors of the page
	fetched []string // what the page asked for
}

type message struct {
	ID     int             `json:"id,omitempty"`
	Method string          `json:"method,omitempty"`
	Params json.RawMessage `json:"params,omitempty"`
	Result json.RawMessage `json:"result,omitempty"`
	Error  *struct {
		Message string `json:"message"`
	} `json:"error,omitempty"`
	Session string `json:"sessionId,omitempty"`
}

// openBrowser starts Debian's chromium with one empty page.
func openBrowser(t *testing.T) *browser {
	t.Helper()
	profile := t.TempDir()
	toRead, in, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	out, toWrite, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command("chromium", "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
		"--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-default-apps",
		"--remote-debugging-pipe", "--user-data-dir="+profile, "about:blank")
	c.ExtraFiles = []*os.File{toRead, toWrite} // 3 and 4
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	toRead.Close()
	toWrite.Close()
	b := &browser{t: t, in: in, answers: make(chan message, 1000)}
	go func() {
		defer close(b.answers)
		r := bufio.NewReader(out)
		for {
			text, err := r.ReadBytes(0)
			if err != nil {
				return
			}
			var m message
			if json.Unmarshal(text[:len(text)-1], &m) == nil {
				b.answers <- m
			}
		}
	}()
	t.Cleanup(func() {
		b.call("Browser.close", nil, nil)
		in.Close()
		ended := make(chan error, 1)
		go func() { ended <- c.Wait() }()
		select {
		case <-ended:
		case <-time.After(10 * time.Second):
			c.Process.Kill()
			<-ended
		}
	})
	var made struct{ TargetID string }
	b.call("Target.createTarget", map[string]any{"url": "about:blank"}, &made)
	var attached struct{ SessionID string }
	b.call("Target.attachToTarget", map[string]any{"targetId": made.TargetID, "flatten": true}, &attached)
	b.session = attached.SessionID
	for _, domain := range []string{"Page", "Runtime", "Network", "Log"} {
		b.call(domain+".enable", nil, nil)
	}
	return b
}

// call sends a command and reads events until its answer comes.
func (b *browser) call(method string, params, result any) {
	b.t.Helper()
	if err := b.try(method, params, result); err != nil {
		b.t.Fatalf("%s: %v", method, err)
	}
}

func (b *browser) try(method string, params, result any) error {
	b.id++
	if params == nil {
		params = struct{}{}
	}
	raw, err := json.Marshal(params)
	if err != nil {
		return err
	}
	text, _ := json.Marshal(message{ID: b.id, Method: method, Params: raw, Session: b.session})
	if _, err := b.in.Write(append(text, 0)); err != nil {
		return err
	}
	for end := time.After(60 * time.Second); ; {
		select {
		case m, ok := <-b.answers:
			switch {
			case !ok:
				return errors.New("the browser has gone")
			case m.ID == b.id && m.Error != nil:
				return errors.New(m.Error.Message)
			case m.ID == b.id:
				if result == nil {
					return nil
				}
				return json.Unmarshal(m.Result, result)
			}
			b.note(&m)
		case <-end:
			return errors.New("no answer within a minute")
		}
	}
}

func (b *browser) note(m *message) {
	switch m.Method {
	case "Runtime.exceptionThrown":
		b.faults = append(b.faults, string(m.Params))
	case "Runtime.consoleAPICalled", "Log.entryAdded":
		b.faults = append(b.faults, string(m.Params))
	case "Network.requestWillBeSent":
		var p struct{ Request struct{ URL string } }
		json.Unmarshal(m.Params, &p)
		b.fetched = append(b.fetched, p.Request.URL)
	}
}

// open loads a file by its path and waits until it has drawn.
func (b *browser) open(path string) {
	b.t.Helper()
	b.call("Page.navigate", map[string]any{"url": "file://" + path}, nil)
	b.wait("document.readyState === 'complete'")
	b.settle()
}

// settle waits for two frames: what was asked for is on the screen then.
func (b *browser) settle() {
	b.t.Helper()
	b.eval("new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(() => r(1))))", nil)
}

// eval returns the value of an expression of JavaScript.
func (b *browser) eval(expression string, to any) {
	b.t.Helper()
	var r struct {
		Result           struct{ Value json.RawMessage }
		ExceptionDetails *struct{ Text string }
	}
	b.call("Runtime.evaluate", map[string]any{"expression": expression, "returnByValue": true, "awaitPromise": true}, &r)
	if r.ExceptionDetails != nil {
		b.t.Fatalf("%s: %s %s", expression, r.ExceptionDetails.Text, r.Result.Value)
	}
	if to != nil {
		if err := json.Unmarshal(r.Result.Value, to); err != nil {
			b.t.Fatalf("%s: %v in %s", expression, err, r.Result.Value)
		}
	}
}

func (b *browser) number(expression string) (v float64) {
	b.t.Helper()
	b.eval("+("+expression+")", &v)
	return v
}

func (b *browser) text(expression string) (v string) {
	b.t.Helper()
	b.eval("String("+expression+")", &v)
	return v
}

func (b *browser) wait(condition string) {
	b.t.Helper()
	for end := time.Now().Add(30 * time.Second); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if b.text(condition) == "true" {
			return
		}
	}
	b.t.Fatalf("not within half a minute: %s", condition)
}

// media sets colour scheme, reduced motion and medium ("" for the screen).
func (b *browser) media(scheme, motion, medium string) {
	b.t.Helper()
	b.call("Emulation.setEmulatedMedia", map[string]any{"media": medium, "features": []map[string]string{
		{"name": "prefers-color-scheme", "value": scheme}, {"name": "prefers-reduced-motion", "value": motion}}}, nil)
	b.settle()
}

func (b *browser) size(width, height int) {
	b.t.Helper()
	b.call("Emulation.setDeviceMetricsOverride", map[string]any{"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 500}, nil)
	b.settle()
}

// drag presses the mouse at one point of the window and lets go at another.
func (b *browser) drag(x0, y0, x1, y1 float64) {
	b.t.Helper()
	mouse := func(kind string, x, y float64, buttons int) {
		b.call("Input.dispatchMouseEvent", map[string]any{"type": kind, "x": x, "y": y, "button": "left", "buttons": buttons, "clickCount": 1}, nil)
	}
	mouse("mouseMoved", x0, y0, 0)
	mouse("mousePressed", x0, y0, 1)
	for i := 1; i <= 5; i++ {
		f := float64(i) / 5
		mouse("mouseMoved", x0+f*(x1-x0), y0+f*(y1-y0), 1)
	}
	mouse("mouseReleased", x1, y1, 0)
	b.settle()
}

// key presses and releases a key.
func (b *browser) key(name string, code int, text string) {
	b.t.Helper()
	for _, kind := range []string{"keyDown", "keyUp"} {
		p := map[string]any{"type": kind, "key": name, "code": name, "windowsVirtualKeyCode": code}
		if kind == "keyDown" && text != "" {
			p["text"] = text
		}
		b.call("Input.dispatchKeyEvent", p, nil)
	}
	b.settle()
}

// shot writes a picture of the window, for people, where SHOTS names a folder.
func (b *browser) shot(name string) {
	b.t.Helper()
	dir := os.Getenv("SHOTS")
	if dir == "" {
		return
	}
	var r struct{ Data []byte }
	b.call("Page.captureScreenshot", map[string]any{"format": "png"}, &r)
	if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("%s.png", name)), r.Data, 0o666); err != nil {
		b.t.Fatal(err)
	}
}
