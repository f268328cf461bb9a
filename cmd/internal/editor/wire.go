package editor

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"trammel/spec"
)

// The wire: JSON-RPC 2.0 in the framing of the Language Server Protocol. What comes in
// is bounded before it is stored: a header says how long a message is to be, and a length
// that is wrong, or a lie, costs no memory.
const (
	maxHeader  = 4 << 10
	maxMessage = 16 * spec.MaxFileSize
)

// Codes of errors: JSON-RPC's, and those the Language Server Protocol adds.
const (
	parseError     = -32700
	invalidRequest = -32600
	methodNotFound = -32601
	invalidParams  = -32602
	internalError  = -32603
	notInitialized = -32002
	cancelled      = -32800
	requestFailed  = -32803
)

// A message is a request, a notification (no ID) or an answer (no Method).
type message struct {
	JSONRPC string          `json:"jsonrpc"`
	ID      json.RawMessage `json:"id,omitempty"`
	Method  string          `json:"method,omitempty"`
	Params  json.RawMessage `json:"params,omitempty"`
	Result  json.RawMessage `json:"result,omitempty"`
	Error   *wireError      `json:"error,omitempty"`
}

// A wireError is the answer to a request that could not be met.
type wireError struct {
	Code    int    `json:"code"`
	Message string `json:"message"`
}

func (e *wireError) Error() string { return e.Message }

func failed(code int, format string, args ...any) *wireError {
	return &wireError{code, fmt.Sprintf(format, args...)}
}

// errHeader is a header after which nobody can say where the next message begins.
var errHeader = errors.New("the header of a message cannot be read; write Content-Length: and the number of bytes")

// A frames reads framed messages.
type frames struct{ in *bufio.Reader }

func newFrames(in io.Reader) *frames { return &frames{bufio.NewReaderSize(in, maxHeader)} }

// next reads the body of the next message. Of one that is too long nothing is kept, and
// a *wireError says so; any other error ends the stream.
func (f *frames) next() ([]byte, error) {
	n, err := f.header()
	if err != nil {
		return nil, err
	}
	if n > maxMessage {
		if _, err := io.CopyN(io.Discard, f.in, n); err != nil {
			return nil, io.ErrUnexpectedEOF
		}
		return nil, failed(invalidRequest, "the message has %d bytes; the limit is %d", n, maxMessage)
	}
	var body bytes.Buffer // grows with what comes, not with what is promised
	if m, err := io.CopyN(&body, f.in, n); m < n {
		return nil, errors.Join(io.ErrUnexpectedEOF, err)
	}
	return body.Bytes(), nil
}

// header reads the lines before a body and gives the length they promise.
func (f *frames) header() (length int64, err error) {
	length = -1
	for read := 0; ; {
		line, err := f.in.ReadSlice('\n')
		switch {
		case err == io.EOF && read == 0 && len(line) == 0:
			return 0, io.EOF
		case err == io.EOF:
			return 0, io.ErrUnexpectedEOF
		case errors.Is(err, bufio.ErrBufferFull):
			return 0, errHeader
		case err != nil:
			return 0, err
		}
		if read += len(line); read > maxHeader {
			return 0, errHeader
		}
		text := strings.TrimRight(string(line), "\r\n")
		if text == "" {
			break
		}
		name, value, ok := strings.Cut(text, ":")
		if !ok {
			return 0, errHeader
		}
		if strings.EqualFold(strings.TrimSpace(name), "Content-Length") {
			n, err := strconv.ParseUint(strings.TrimSpace(value), 10, 62)
			if err != nil || length >= 0 {
				return 0, errHeader
			}
			length = int64(n)
		}
	}
	if length < 0 {
		return 0, errHeader
	}
	return length, nil
}

// parse reads one message. What is no JSON and what is no message get different errors;
// the ID of the latter is known if it has one.
func parse(body []byte) (*message, *wireError) {
	var m message
	if !json.Valid(body) {
		return &m, failed(parseError, "the message is not valid JSON")
	}
	if err := json.Unmarshal(body, &m); err != nil {
		m = message{}
		return &m, failed(invalidRequest, "the message is not a JSON-RPC request")
	}
	if !validID(m.ID) {
		m.ID = nil
		return &m, failed(invalidRequest, "the id of a request is a number or a text")
	}
	if m.JSONRPC != "2.0" {
		return &m, failed(invalidRequest, "jsonrpc must be \"2.0\"")
	}
	if m.Method == "" && m.Result == nil && m.Error == nil {
		return &m, failed(invalidRequest, "the message has no method")
	}
	return &m, nil
}

func validID(id json.RawMessage) bool {
	return len(id) == 0 || id[0] == '"' || id[0] == '-' || id[0] >= '0' && id[0] <= '9' || string(id) == "null"
}

// write frames a message.
func write(out io.Writer, m *message) error {
	m.JSONRPC = "2.0"
	var body bytes.Buffer
	enc := json.NewEncoder(&body)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(m); err != nil {
		return err
	}
	_, err := fmt.Fprintf(out, "Content-Length: %d\r\n\r\n%s", body.Len(), body.Bytes())
	return err
}

// asJSON writes what is sent. Everything that is sent can be written.
func asJSON(v any) json.RawMessage {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		panic(err)
	}
	return bytes.TrimSpace(b.Bytes())
}
