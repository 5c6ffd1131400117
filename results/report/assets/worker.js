'use strict';
// The worker of a live report: it starts the evaluator and hands it one request after the other.
let module, api;

// What the module asks of a system: a clock, random bytes for its tables, and somewhere to
// complain. There are no files, no arguments and no network.
function system(memory) {
  const view = () => new DataView(memory().buffer), bytes = (at, n) => new Uint8Array(memory().buffer, at, n);
  return {
    args_sizes_get: (count, size) => { view().setUint32(count, 0, true); view().setUint32(size, 0, true); return 0; },
    environ_sizes_get: (count, size) => { view().setUint32(count, 0, true); view().setUint32(size, 0, true); return 0; },
    args_get: () => 0, environ_get: () => 0, sched_yield: () => 0,
    clock_time_get: (id, precision, at) => { view().setBigUint64(at, BigInt(Math.round(performance.now() * 1e6)), true); return 0; },
    random_get: (at, n) => { for (let k = 0; k < n; k += 65536) crypto.getRandomValues(bytes(at + k, Math.min(65536, n - k))); return 0; },
    fd_prestat_get: () => 8,
    fd_write: (fd, list, n, written) => {
      let total = 0, said = '';
      for (let k = 0; k < n; k++) {
        const at = view().getUint32(list + 8 * k, true), size = view().getUint32(list + 8 * k + 4, true);
        said += new TextDecoder().decode(bytes(at, size).slice());
        total += size;
      }
      view().setUint32(written, total, true);
      postMessage({ said });
      return 0;
    },
    poll_oneoff: (subscriptions, events, n, count) => { // nothing to wait for: all is there
      for (let k = 0; k < n; k++) {
        bytes(events + 32 * k, 32).fill(0);
        view().setBigUint64(events + 32 * k, view().getBigUint64(subscriptions + 48 * k, true), true);
      }
      view().setUint32(count, n, true);
      return 0;
    },
    proc_exit: (status) => { throw new Error('the evaluator ended with ' + status); },
  };
}

async function start(packed, given) {
  module = given;
  if (!module) {
    const raw = atob(packed), b = new Uint8Array(raw.length);
    for (let i = 0; i < raw.length; i++) b[i] = raw.charCodeAt(i);
    const stream = new Blob([b]).stream().pipeThrough(new DecompressionStream('gzip'));
    module = await WebAssembly.compile(await new Response(stream).arrayBuffer());
  }
  let memory;
  const has = system(() => memory), imports = { wasi_snapshot_preview1: {}, page: { progress: (at, n) => postMessage({ id: current, progress: read(at, n) }) } };
  for (const i of WebAssembly.Module.imports(module)) if (i.module === 'wasi_snapshot_preview1') imports[i.module][i.name] = has[i.name] || (() => 52); // not supported
  const instance = await WebAssembly.instantiate(module, imports);
  api = instance.exports;
  memory = api.memory;
  api._initialize();
}

const read = (at, n) => JSON.parse(new TextDecoder().decode(new Uint8Array(api.memory.buffer, at, n).slice()));
function write(value) {
  const text = new TextEncoder().encode(JSON.stringify(value)), at = api.room(text.length);
  new Uint8Array(api.memory.buffer, at, text.length).set(text);
}

let current = 0;
onmessage = async (e) => {
  const m = e.data;
  try {
    if (m.start) {
      await start(m.packed, m.module);
      write({ brief: m.brief, layouts: m.layouts });
      const n = api.begin();
      postMessage({ id: m.id, answer: read(api.answer(), n), module, memory: api.memory.buffer.byteLength });
      return;
    }
    current = m.id;
    write(m.ask);
    const n = api.ask();
    postMessage({ id: m.id, answer: read(api.answer(), n), memory: api.memory.buffer.byteLength });
  } catch (err) {
    postMessage({ id: m.id, answer: { error: String(err.message || err) } });
  }
};
