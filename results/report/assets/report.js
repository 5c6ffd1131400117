(function () {
'use strict';
const $ = (id) => document.getElementById(id);
const data = JSON.parse($('data').textContent);
const N = data.n;

// --- decoding -------------------------------------------------------------
function bytes(text) {
  const s = atob(text), b = new Uint8Array(s.length);
  for (let i = 0; i < s.length; i++) b[i] = s.charCodeAt(i);
  return b;
}
function floats(text) {
  const b = bytes(text), v = new DataView(b.buffer), out = new Float32Array(b.length / 4);
  for (let i = 0; i < out.length; i++) out[i] = v.getFloat32(4 * i, true);
  return out;
}
function doubles(text) {
  const b = bytes(text), v = new DataView(b.buffer), out = new Float64Array(b.length / 8);
  for (let i = 0; i < out.length; i++) out[i] = v.getFloat64(8 * i, true);
  return out;
}
function shorts(text) {
  const b = bytes(text), v = new DataView(b.buffer), out = new Uint16Array(b.length / 2);
  for (let i = 0; i < out.length; i++) out[i] = v.getUint16(2 * i, true);
  return out;
}
const id = doubles(data.id), run = data.run ? doubles(data.run) : null, klass = bytes(data.class);
const columns = data.columns || [], byName = {};
for (const c of columns) {
  c.values = floats(c.data);
  c.title = c.label + (c.unit ? ', ' + c.unit : '');
  let lo = Infinity, hi = -Infinity;
  for (const v of c.values) if (isFinite(v)) { if (v < lo) lo = v; if (v > hi) hi = v; }
  c.lo = lo; c.hi = hi;
  // colours span what is feasible, if anything is
  let clo = Infinity, chi = -Infinity;
  for (let i = 0; i < N; i++) { const v = c.values[i]; if (klass[i] > 0 && isFinite(v)) { if (v < clo) clo = v; if (v > chi) chi = v; } }
  c.clo = clo < chi ? clo : lo; c.chi = clo < chi ? chi : hi;
  byName[c.name] = c;
}
const texts = data.texts || [];
for (const t of texts) t.index = shorts(t.codes);
// a text of a row; the name of a column as its label
const textOf = (t, i) => { const s = t.values[t.index[i]]; return byName[s] ? byName[s].label : s.replace(/_/g, ' '); };
const nameOf = (i) => (run ? run[i] + ':' : '') + id[i];

function fmt(v) {
  if (!isFinite(v)) return isNaN(v) ? '–' : (v < 0 ? '−∞' : '∞');
  if (Math.abs(v) < 1e-12) v = 0; // rounding errors
  const a = Math.abs(v);
  let s;
  if (a !== 0 && (a < 1e-4 || a >= 1e6)) s = v.toExponential(3).replace(/\.?0+e\+?/, 'e');
  else s = v.toFixed(a === 0 ? 0 : Math.max(0, 3 - Math.floor(Math.log10(a)))).replace(/(\.\d*?)0+$/, '$1').replace(/\.$/, '');
  return s.replace('-', '−');
}

// a value of a column: a number, or the name that stands for it
const say = (c, v) => c.names ? (c.names[v] || '–') : fmt(v);
const withUnit = (c, v) => say(c, v) + (c.unit ? ' ' + c.unit : '');
// where the bar of a design ends along a column: at the tail of its parts
const tail = (c, i) => c.tails && i in c.tails ? c.tails[i] : NaN;

// --- state ------------------------------------------------------------------
const ranges = {};            // column name: [low, high]
const shown = [true, true, true]; // by class: other, feasible, front
const picked = new Set(data.picks || []);
let match = new Uint8Array(N), matches = 0;
const listeners = [], plots = [], pickers = []; // pickers are told of each design that is marked
function update() {
  matches = 0;
  const tests = Object.keys(ranges).map((k) => [byName[k].values, ranges[k][0], ranges[k][1]]);
  for (let i = 0; i < N; i++) {
    let ok = shown[klass[i]] ? 1 : 0;
    for (let k = 0; ok && k < tests.length; k++) {
      const v = tests[k][0][i];
      if (!(v >= tests[k][1] && v <= tests[k][2])) ok = 0;
    }
    match[i] = ok; matches += ok;
  }
  chips();
  $('matches').textContent = matches.toLocaleString('en') + ' of ' + N.toLocaleString('en') + ' designs match';
  for (const f of listeners) f();
}
function setRange(name, low, high) {
  if (low === null) delete ranges[name]; else ranges[name] = [Math.min(low, high), Math.max(low, high)];
  update();
}
function chips() {
  const box = $('chips');
  box.textContent = '';
  const names = Object.keys(ranges);
  for (const name of names) {
    const c = byName[name], b = document.createElement('button');
    b.type = 'button'; b.className = 'chip';
    const r = ranges[name];
    b.textContent = c.label + ' ' + (c.names ? c.names.filter((s, k) => k >= r[0] && k <= r[1]).join(', ') : fmt(r[0]) + ' to ' + fmt(r[1]) + (c.unit ? ' ' + c.unit : '')) + ' ×';
    b.setAttribute('aria-label', 'Do not keep this range of ' + c.label + ' any more');
    b.onclick = () => setRange(name, null);
    box.append(b);
  }
  $('clear').hidden = names.length === 0;
}
$('clear').onclick = () => { for (const k of Object.keys(ranges)) delete ranges[k]; update(); };
['other', 'feasible', 'front'].forEach((k, i) => {
  const box = $('show-' + k);
  let any = false;
  for (let j = 0; j < N; j++) if (klass[j] === i) { any = true; break; }
  if (!any) { box.disabled = true; box.checked = false; }
  box.onchange = () => { shown[i] = box.checked; update(); for (const p of plots) p.rescale(); };
});
function togglePick(i) { if (picked.has(i)) picked.delete(i); else { picked.add(i); for (const f of pickers) f(i); } for (const f of listeners) f(); }

// --- colours -------------------------------------------------------------------
let css = {};
function readColours() {
  const s = getComputedStyle(document.documentElement), get = (n) => s.getPropertyValue(n).trim();
  css = { ink: get('--ink'), soft: get('--soft'), line: get('--line'), hair: get('--hair'), accent: get('--accent'), paper: get('--paper'), pick: get('--pick'), ramp: [] };
  for (let i = 0; i < 12; i++) css.ramp.push(get('--c' + i));
}
const level = (c, v) => !isFinite(v) ? -1 : Math.min(11, Math.max(0, Math.floor(12 * (v - c.clo) / ((c.chi - c.clo) || 1))));

// rows in the order of drawing: what is not feasible first, the front last
const order = Array.from({ length: N }, (_, i) => i).sort((a, b) => klass[a] - klass[b]);

// --- scatter plots ---------------------------------------------------------------
function option(select, c, chosen) {
  const o = document.createElement('option');
  o.value = c.name; o.textContent = c.title; o.selected = c === chosen;
  select.append(o);
}
const roles = [['goal', 'goals'], ['limit', 'limited'], ['variable', 'varied'], ['category', 'kinds'], ['measure', 'measures'], ['parameter', 'parameters'], ['other', 'other']];
function fill(select, chosen, keep) {
  for (const [role, name] of roles) {
    const list = columns.filter((c) => c.role === role && (!keep || keep(c)));
    if (!list.length) continue;
    const g = document.createElement('optgroup');
    g.label = name;
    select.append(g);
    for (const c of list) option(g, c, chosen);
  }
}
// the span of a column over the kinds of designs that are shown, and the bars
function span(c) {
  let lo = Infinity, hi = -Infinity;
  for (let i = 0; i < N; i++) { const v = c.values[i]; if (shown[klass[i]] && isFinite(v)) { if (v < lo) lo = v; if (v > hi) hi = v; } }
  for (const v of Object.values(c.tails || {})) { lo = Math.min(lo, v); hi = Math.max(hi, v); }
  return lo <= hi ? padded(lo, hi) : padded(c.lo, c.hi);
}
function padded(lo, hi) { const d = (hi - lo) || Math.abs(lo) || 1; return [lo - 0.04 * d, hi + 0.04 * d]; }

function Scatter(figure, first) {
  const state = { x: first[0], y: first[1], c: first[2] };
  const picks = document.createElement('div');
  picks.className = 'picks';
  for (const [key, name] of [['x', 'across'], ['y', 'up'], ['c', 'colour']]) {
    const l = document.createElement('label'), s = document.createElement('select');
    l.append(name + ' ', s);
    fill(s, state[key]);
    s.onchange = () => { state[key] = byName[s.value]; make(); };
    picks.append(l);
  }
  const holder = document.createElement('div'), bar = document.createElement('div'), hover = document.createElement('p');
  holder.setAttribute('role', 'img');
  bar.className = 'colourbar'; hover.className = 'hover';
  figure.append(picks, holder, bar, hover);
  let u = null, near = -1;
  this.marks = 0;
  const self = this;

  function draw(u) {
    const ctx = u.ctx, x = state.x.values, y = state.y.values, c = state.c;
    const px = devicePixelRatio || 1;
    ctx.save();
    ctx.beginPath();
    ctx.rect(u.bbox.left, u.bbox.top, u.bbox.width, u.bbox.height);
    ctx.clip();
    let marks = 0;
    for (const pass of [0, 1]) for (const i of order) {
      if ((match[i] ? 1 : 0) !== pass || !shown[klass[i]]) continue;
      if (!isFinite(x[i]) || !isFinite(y[i])) continue;
      const X = u.valToPos(x[i], 'x', true), Y = u.valToPos(y[i], 'y', true), k = level(c, c.values[i]);
      const colour = k < 0 ? css.soft : css.ramp[k];
      if (pass === 0) { ctx.globalAlpha = 0.6; ctx.fillStyle = css.hair; ctx.fillRect(X - px, Y - px, 2 * px, 2 * px); continue; }
      marks++;
      if (klass[i] === 0) {
        ctx.globalAlpha = 0.5; ctx.strokeStyle = colour; ctx.lineWidth = px;
        const r = 2 * px;
        ctx.beginPath(); ctx.moveTo(X - r, Y - r); ctx.lineTo(X + r, Y + r); ctx.moveTo(X + r, Y - r); ctx.lineTo(X - r, Y + r); ctx.stroke();
      } else {
        ctx.globalAlpha = klass[i] === 2 ? 1 : 0.75; ctx.fillStyle = colour;
        ctx.beginPath(); ctx.arc(X, Y, (klass[i] === 2 ? 4 : 2.5) * px, 0, 7); ctx.fill();
        if (klass[i] === 2) { ctx.strokeStyle = css.ink; ctx.lineWidth = px; ctx.stroke(); }
      }
    }
    ctx.globalAlpha = 1;
    let bars = 0;
    for (const i of picked) {
      if (!isFinite(x[i]) || !isFinite(y[i])) continue;
      const X = u.valToPos(x[i], 'x', true), Y = u.valToPos(y[i], 'y', true);
      ctx.strokeStyle = css.pick; ctx.lineWidth = 2 * px;
      ctx.beginPath(); ctx.arc(X, Y, 7.5 * px, 0, 7);
      const tx = u.valToPos(tail(state.x, i), 'x', true), ty = u.valToPos(tail(state.y, i), 'y', true), cap = 4 * px;
      if (isFinite(tx)) { bars++; ctx.moveTo(X, Y); ctx.lineTo(tx, Y); ctx.moveTo(tx, Y - cap); ctx.lineTo(tx, Y + cap); }
      if (isFinite(ty)) { bars++; ctx.moveTo(X, Y); ctx.lineTo(X, ty); ctx.moveTo(X - cap, ty); ctx.lineTo(X + cap, ty); }
      ctx.stroke();
      ctx.fillStyle = css.ink; ctx.font = 11 * px + 'px system-ui, sans-serif'; ctx.textAlign = 'left'; // clear of the bars
      const label = nameOf(i), w = ctx.measureText(label).width;
      ctx.strokeStyle = css.paper; ctx.lineWidth = 3 * px; ctx.lineJoin = 'round';
      for (const put of ['strokeText', 'fillText']) ctx[put](label, X + 10 * px + w > u.bbox.left + u.bbox.width ? X - 10 * px - w : X + 10 * px, Math.max(Y - 6 * px, u.bbox.top + 10 * px));
    }
    // limits as lines
    ctx.strokeStyle = css.pick; ctx.lineWidth = px; ctx.setLineDash([5 * px, 4 * px]);
    for (const [c, axis] of [[state.x, 'x'], [state.y, 'y']]) for (const b of [c.atMost, c.atLeast]) {
      if (b === undefined) continue;
      const p = u.valToPos(b, axis, true);
      ctx.beginPath();
      if (axis === 'x') { ctx.moveTo(p, u.bbox.top); ctx.lineTo(p, u.bbox.top + u.bbox.height); } else { ctx.moveTo(u.bbox.left, p); ctx.lineTo(u.bbox.left + u.bbox.width, p); }
      ctx.stroke();
    }
    ctx.restore();
    self.marks = marks;
    figure.dataset.marks = marks;
    figure.dataset.bars = bars;
    if ($('key-tail')) $('key-tail').hidden = !document.querySelector('.plot[data-bars]:not([data-bars="0"])');
  }
  function nearest(u) {
    if (u.cursor.left < 0) return -1;
    let best = -1, d = 18 * 18;
    for (let i = 0; i < N; i++) {
      if (!match[i]) continue;
      const dx = u.valToPos(state.x.values[i], 'x') - u.cursor.left, dy = u.valToPos(state.y.values[i], 'y') - u.cursor.top;
      const r = dx * dx + dy * dy - klass[i];
      if (r < d) { d = r; best = i; }
    }
    return best;
  }
  function tell() {
    hover.textContent = near < 0 ? '' : 'Design ' + nameOf(near) + ': ' + [state.x, state.y, state.c].map((c) => c.label + ' ' + withUnit(c, c.values[near]) + (isFinite(tail(c, near)) ? ' (tail ' + fmt(tail(c, near)) + ')' : '')).join(', ') +
      '; ' + ['not feasible', 'feasible', 'on the front'][klass[near]] + '.';
  }
  function size() { return { width: Math.max(240, figure.clientWidth), height: Math.min(420, Math.max(300, figure.clientWidth * 0.72)) }; }
  function make() {
    if (u) u.destroy();
    const axis = (c) => Object.assign({ label: c.title, stroke: () => css.soft, grid: { stroke: () => css.hair, width: 1 }, ticks: { stroke: () => css.line, width: 1 }, font: '12px system-ui, sans-serif', labelFont: '12px system-ui, sans-serif', values: (u, v) => v.map((x) => say(c, x)), labelSize: 22 },
      c.names ? { splits: () => c.names.map((s, k) => k) } : {});
    const room = (c) => c.names ? Math.min(150, 16 + 7 * Math.max(...c.names.map((s) => s.length))) : 58;
    const s = size();
    u = new uPlot({
      width: s.width, height: s.height, legend: { show: false },
      scales: { x: { time: false, range: () => span(state.x) }, y: { range: () => span(state.y) } },
      series: [{}, { show: true, paths: () => null, points: { show: false } }],
      axes: [axis(state.x), Object.assign(axis(state.y), { size: room(state.y) })],
      cursor: { drag: { x: true, y: true, setScale: false, dist: 5 }, points: { show: false } },
      hooks: {
        draw: [draw],
        setCursor: [(u) => { near = nearest(u); tell(); }],
        setSelect: [(u) => {
          const r = u.select;
          if (r.width < 4 || r.height < 4) return;
          const a = u.posToVal(r.left, 'x'), b = u.posToVal(r.left + r.width, 'x'), c = u.posToVal(r.top, 'y'), d = u.posToVal(r.top + r.height, 'y');
          u.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
          ranges[state.x.name] = [Math.min(a, b), Math.max(a, b)];
          ranges[state.y.name] = [Math.min(c, d), Math.max(c, d)];
          dragged = true;
          update();
        }],
      },
    }, [[state.x.lo, state.x.hi], [state.y.lo, state.y.hi]], holder);
    let dragged = false;
    u.over.addEventListener('click', () => { if (dragged) { dragged = false; return; } if (near >= 0) togglePick(near); });
    holder.setAttribute('aria-label', 'Scatter plot: ' + state.x.title + ' across, ' + state.y.title + ' up, coloured by ' + state.c.title + '. The table below holds the same designs.');
    bar.textContent = '';
    const ramp = document.createElement('i');
    const word = (v, edge, sign) => (v === edge ? '' : sign) + fmt(v), cc = state.c;
    if (cc.names) {
      bar.append(cc.title + ' ');
      cc.names.forEach((s, k) => { const dot = document.createElement('b'), w = document.createElement('span'); dot.className = 'dot'; dot.style.background = 'var(--c' + level(cc, k) + ')'; w.append(dot, s); bar.append(w); });
    } else {
      // the span of the colours as a share of the larger end
      const most = Math.max(Math.abs(cc.clo), Math.abs(cc.chi));
      bar.append(cc.title + ' ', word(cc.clo, cc.lo, '≤ '), ramp, word(cc.chi, cc.hi, '≥ '), cc.clo * cc.chi > 0 ? ' spans ' + fmt(+(100 * (cc.chi - cc.clo) / most).toPrecision(2)) + ' %' : '');
    }
  }
  this.redraw = () => u.redraw(false);
  this.rescale = make;
  this.resize = () => u.setSize(size());
  make();
  listeners.push(this.redraw);
}

// --- parallel axes ------------------------------------------------------------
const axes = [];
function Parallel() {
  const canvas = $('parallel'), box = canvas.parentElement, H = 320, top = 46, bottom = 26;
  let px = 1, gap = 100;
  const side = 58, X = (k) => side + k * gap;
  const Y = (c, v) => H - bottom - (v - c.lo) / ((c.hi - c.lo) || 1) * (H - top - bottom);
  const V = (c, y) => c.lo + (H - bottom - y) / (H - top - bottom) * (c.hi - c.lo);
  function fit() {
    px = devicePixelRatio || 1;
    const n = Math.max(axes.length, 2);
    gap = Math.max(84, (box.clientWidth - 2 * side) / (n - 1));
    const w = Math.max(box.clientWidth, 2 * side + gap * (n - 1));
    canvas.style.width = Math.floor(w) + 'px';
    canvas.width = Math.floor(w * px); canvas.height = H * px;
  }
  let last = null;
  function draw() {
    const ctx = canvas.getContext('2d');
    ctx.setTransform(px, 0, 0, px, 0, 0);
    ctx.clearRect(0, 0, canvas.width, canvas.height);
    const colour = byName[data.main && data.main[0]] || axes[0];
    const line = (i) => {
      let open = false;
      ctx.beginPath();
      axes.forEach((c, k) => {
        const v = c.values[i];
        if (!isFinite(v)) { open = false; return; }
        if (open) ctx.lineTo(X(k), Y(c, v)); else ctx.moveTo(X(k), Y(c, v));
        open = true;
      });
      ctx.stroke();
    };
    let lines = 0;
    ctx.lineWidth = 0.6; ctx.strokeStyle = css.hair; ctx.globalAlpha = 0.5;
    for (const i of order) if (!match[i] && shown[klass[i]]) line(i);
    const alpha = [0.12, 0.3, 0.9], few = matches < 300;
    for (const i of order) {
      if (!match[i]) continue;
      const k = level(colour, colour.values[i]);
      ctx.globalAlpha = few ? Math.max(0.5, alpha[klass[i]]) : alpha[klass[i]];
      ctx.lineWidth = klass[i] === 2 ? 1.1 : 0.7;
      ctx.strokeStyle = klass[i] === 0 || k < 0 ? css.soft : css.ramp[k];
      line(i); lines++;
    }
    ctx.globalAlpha = 1; ctx.lineWidth = 2; ctx.strokeStyle = css.pick;
    for (const i of picked) line(i);
    ctx.textAlign = 'center';
    axes.forEach((c, k) => {
      ctx.strokeStyle = css.ink; ctx.lineWidth = 1;
      ctx.beginPath(); ctx.moveTo(X(k), top); ctx.lineTo(X(k), H - bottom); ctx.stroke();
      ctx.font = '12px system-ui, sans-serif';
      const words = c.title.split(' '), rows = [''];
      for (const w of words) { const t = rows[rows.length - 1]; if (t && ctx.measureText(t + ' ' + w).width > gap - 8) rows.push(w); else rows[rows.length - 1] = t ? t + ' ' + w : w; }
      ctx.fillStyle = css.ink;
      rows.slice(0, 2).forEach((t, r) => ctx.fillText(t, X(k), 12 + 14 * r, gap - 4));
      const label = (t, y) => {
        const w = ctx.measureText(t).width;
        ctx.fillStyle = css.paper; ctx.globalAlpha = 0.8; ctx.fillRect(X(k) - w / 2 - 2, y - 10, w + 4, 13); ctx.globalAlpha = 1;
        ctx.fillStyle = css.soft; ctx.fillText(t, X(k), y);
      };
      ctx.font = '11px system-ui, sans-serif';
      if (c.names) c.names.forEach((s, i) => { if (c.names.length < 9 || i % 3 === 0) label(s.length > 14 ? s.slice(0, 13) + '…' : s, Math.max(top - 4, Math.min(Y(c, i), H - bottom + 14))); });
      else { label(fmt(c.hi), top - 4); label(fmt(c.lo), H - bottom + 14); }
      const r = ranges[c.name];
      if (r) {
        const a = Math.max(top, Math.min(Y(c, r[1]), H - bottom)), b = Math.min(H - bottom, Math.max(Y(c, r[0]), top));
        ctx.fillStyle = css.accent; ctx.globalAlpha = 0.35; ctx.fillRect(X(k) - 7, a, 14, Math.max(2, b - a)); ctx.globalAlpha = 1;
        ctx.strokeStyle = css.accent; ctx.strokeRect(X(k) - 7, a, 14, Math.max(2, b - a));
      }
    });
    canvas.dataset.lines = lines;
    canvas.setAttribute('aria-label', 'Parallel axes: ' + axes.map((c) => c.title).join('; ') + '. ' + matches + ' designs match. Ranges can be set by number below.');
  }
  function axisAt(x) {
    let best = -1, d = Math.min(40, gap / 2);
    axes.forEach((c, k) => { const r = Math.abs(X(k) - x); if (r < d) { d = r; best = k; } });
    return best;
  }
  let drag = null;
  const at = (e) => { const r = canvas.getBoundingClientRect(); return [e.clientX - r.left, Math.min(H - bottom, Math.max(top, e.clientY - r.top))]; };
  canvas.addEventListener('pointerdown', (e) => {
    const [x, y] = at(e), k = axisAt(x);
    if (k < 0) return;
    drag = { c: axes[k], from: y, moved: false };
    canvas.setPointerCapture(e.pointerId);
  });
  canvas.addEventListener('pointermove', (e) => {
    if (!drag) return;
    const y = at(e)[1];
    if (Math.abs(y - drag.from) < 3 && !drag.moved) return;
    drag.moved = true;
    setRange(drag.c.name, V(drag.c, drag.from), V(drag.c, y));
  });
  canvas.addEventListener('pointerup', () => { if (drag && !drag.moved && ranges[drag.c.name]) setRange(drag.c.name, null); drag = null; });
  canvas.addEventListener('pointercancel', () => { drag = null; });
  this.fit = fit; this.draw = draw;
  this.where = (k, share) => [X(k), H - bottom - share * (H - top - bottom)]; // for tests
  listeners.push(draw);
}

// --- table ------------------------------------------------------------------
const perPage = 25, goals = (data.main || []).map((n) => byName[n]).filter((c) => c && c.role === 'goal'); // in the brief's order
const view = { sort: null, down: false, page: 0, all: false, find: '', rows: [] };
const fixedColumns = [
  { label: 'design', get: nameOf, key: (i) => (run ? run[i] * 1e12 : 0) + id[i], n: true },
  { label: 'is', get: (i) => ['not feasible', 'feasible', 'front'][klass[i]], key: (i) => klass[i] },
];
function tableColumns() {
  const list = fixedColumns.slice();
  for (const t of texts) if (view.all || t.name === 'first_limit' || t.name === 'material' && t.values.length > 1)
    list.push({ label: t.label, get: (i) => textOf(t, i), key: (i) => t.values[t.index[i]] });
  const main = (data.main || []).map((n) => byName[n]).filter(Boolean);
  for (const c of view.all ? main.concat(columns.filter((c) => !main.includes(c))) : main) if (!c.names) list.push({ label: c.title, get: (i) => fmt(c.values[i]), key: (i) => c.values[i], n: true, column: c });
  return list;
}
let heads = [];
function head() {
  heads = tableColumns();
  const tr = document.createElement('tr');
  heads.forEach((h) => {
    const th = document.createElement('th'), b = document.createElement('button');
    th.scope = 'col';
    if (h.n) th.className = 'n';
    b.type = 'button'; b.textContent = h.label;
    if (view.sort === h.label) { th.setAttribute('aria-sort', view.down ? 'descending' : 'ascending'); b.textContent += view.down ? ' ↓' : ' ↑'; }
    b.onclick = () => {
      if (view.sort === h.label) view.down = !view.down;
      else { view.sort = h.label; view.down = h.column ? h.column.sense === 'most' : h.label === 'is'; }
      view.page = 0;
      table();
      $('designs').querySelectorAll('thead button')[heads.findIndex((k) => k.label === view.sort)].focus();
    };
    th.append(b); tr.append(th);
  });
  $('designs').tHead.replaceChildren(tr);
}
function table() {
  head();
  const find = view.find.trim().toLowerCase(), rows = [];
  for (let i = 0; i < N; i++) {
    if (!match[i]) continue;
    if (find && nameOf(i) !== find && !texts.some((t) => textOf(t, i).toLowerCase().includes(find)) && !['not feasible', 'feasible', 'front'][klass[i]].startsWith(find)) continue;
    rows.push(i);
  }
  const h = heads.find((k) => k.label === view.sort);
  if (h) rows.sort((a, b) => {
    const x = h.key(a), y = h.key(b), nx = x !== x, ny = y !== y;
    if (nx || ny) return nx - ny;
    if (x !== y) return (x < y ? -1 : 1) * (view.down ? -1 : 1);
    if (klass[a] !== klass[b]) return klass[b] - klass[a];
    const g = goals[0];
    return g ? (g.values[a] - g.values[b]) * (g.sense === 'most' ? -1 : 1) : 0;
  });
  view.rows = rows;
  const pages = Math.max(1, Math.ceil(rows.length / perPage));
  view.page = Math.min(view.page, pages - 1);
  const body = document.createDocumentFragment();
  for (const i of rows.slice(view.page * perPage, (view.page + 1) * perPage)) {
    const tr = document.createElement('tr');
    if (picked.has(i)) tr.className = 'picked';
    heads.forEach((h, k) => {
      const td = document.createElement(k ? 'td' : 'th');
      if (!k) {
        td.scope = 'row';
        const b = document.createElement('button');
        b.type = 'button'; b.textContent = h.get(i);
        b.setAttribute('aria-pressed', picked.has(i));
        b.setAttribute('aria-label', 'Mark design ' + nameOf(i) + ' in the plots');
        td.append(b);
      } else td.textContent = h.get(i);
      if (h.n) td.className = 'n';
      tr.append(td);
    });
    tr.onclick = () => {
      togglePick(i);
      const again = [...$('designs').tBodies[0].rows].find((r) => r.cells[0].textContent === nameOf(i));
      if (again) again.cells[0].firstChild.focus();
    };
    body.append(tr);
  }
  $('designs').tBodies[0].replaceChildren(body);
  $('page').textContent = rows.length ? 'Rows ' + (view.page * perPage + 1) + ' to ' + Math.min(rows.length, (view.page + 1) * perPage) + ' of ' + rows.length : 'No design matches';
  $('back').disabled = view.page === 0;
  $('next').disabled = view.page >= pages - 1;
  $('copy').disabled = !rows.length;
}
$('back').onclick = () => { view.page--; table(); };
$('next').onclick = () => { view.page++; table(); };
$('find').oninput = () => { view.find = $('find').value; view.page = 0; table(); };
$('all-columns').onchange = () => { view.all = $('all-columns').checked; table(); };
$('copy').onclick = async () => {
  const list = view.rows.map(nameOf).join(' ');
  try {
    await navigator.clipboard.writeText(list);
    $('copied').textContent = view.rows.length + ' ids copied';
  } catch (e) {
    document.querySelector('.ids').hidden = false;
    $('ids').value = list;
    $('ids').select();
    $('copied').textContent = 'Copy the ' + view.rows.length + ' marked ids';
  }
};

// --- beginning ---------------------------------------------------------------------
window.flexwrightReport = { data, N, klass, byName, fmt, nameOf, onPick: (f) => pickers.push(f) };
readColours();
if (N > 0 && columns.length > 0) {
  $('explorer').hidden = false;
  const pick = (names) => { for (const n of names) if (byName[n]) return byName[n]; return columns[0]; };
  const limited = columns.filter((c) => c.role === 'limit'), varied = columns.filter((c) => c.role === 'variable');
  const others = columns.filter((c) => c.role === 'measure');
  const main = (data.main || []).map((n) => byName[n]).filter(Boolean);
  const nth = (list, k) => list[k] && list[k].name;
  const first = [pick([nth(main, 0)]), pick([nth(goals, 1), nth(limited, 0), nth(others, 0)]), pick([nth(goals, 2), nth(limited, 0), nth(varied, 0)])];
  const ownGoal = goals[0] || main[0] || columns[0];
  const second = [pick([varied.map((c) => c.name).find((n) => n !== ownGoal.name), nth(others, 0)]), pick([nth(limited, 1), nth(limited, 0), nth(goals, 1), nth(others, 0)]), pick([nth(goals, 0), nth(main, 0)])];
  for (const c of main) axes.push(c);
  if (axes.length < 2) for (const c of columns) if (!axes.includes(c) && axes.length < 4) axes.push(c);
  axes.splice(9);
  update();
  const figures = document.querySelectorAll('.plot');
  plots.push(new Scatter(figures[0], first), new Scatter(figures[1], second));
  const parallel = new Parallel();
  Object.assign(window.flexwrightReport, { parallel, plots, ranges, count: () => matches });
  fill($('range-column'), main[0], (c) => !c.names);
  const preset = () => { const c = byName[$('range-column').value], r = ranges[c.name] || [c.lo, c.hi]; $('range-low').value = fmt(r[0]).replace('−', '-'); $('range-high').value = fmt(r[1]).replace('−', '-'); };
  $('range-column').onchange = preset;
  preset();
  $('range').onsubmit = (e) => {
    e.preventDefault();
    const low = parseFloat($('range-low').value.replace('−', '-')), high = parseFloat($('range-high').value.replace('−', '-'));
    if (isFinite(low) && isFinite(high)) setRange($('range-column').value, low, high);
  };
  for (const c of columns) {
    const l = document.createElement('label'), b = document.createElement('input');
    b.type = 'checkbox'; b.checked = axes.includes(c);
    l.append(b, ' ' + c.title);
    b.onchange = () => {
      if (b.checked) axes.push(c); else axes.splice(axes.indexOf(c), 1);
      parallel.fit(); parallel.draw();
    };
    $('axes').append(l);
  }
  Object.assign(view, { sort: 'is', down: true });
  listeners.push(table);
  table();
  parallel.fit(); parallel.draw();
  let width = 0;
  const fitAll = () => { for (const p of plots) p.resize(); parallel.fit(); parallel.draw(); };
  new ResizeObserver(() => { const w = $('explorer').clientWidth; if (w !== width) { width = w; fitAll(); } }).observe($('explorer'));
  const colours = () => { readColours(); for (const p of plots) p.redraw(); parallel.draw(); };
  matchMedia('(prefers-color-scheme: dark)').addEventListener('change', colours);
  matchMedia('print').addEventListener('change', colours);
}
})();
