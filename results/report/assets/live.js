(function () {
'use strict';
const $ = (id) => document.getElementById(id);
const live = JSON.parse($('live-data').textContent), R = window.flexwrightReport;
const fmt = R.fmt, label = (s) => s.replace(/_/g, ' ');
const SVG = 'http://www.w3.org/2000/svg';

function el(tag, props, ...children) {
  const e = document.createElement(tag);
  for (const k in props) if (k in e) e[k] = props[k]; else e.setAttribute(k, props[k]);
  e.append(...children);
  return e;
}
function draw(tag, attributes, ...children) {
  const e = document.createElementNS(SVG, tag);
  for (const k in attributes) e.setAttribute(k, attributes[k]);
  e.append(...children);
  return e;
}

// --- the evaluator --------------------------------------------------------------
// A worker answers one request at a time; of those that wait under one name only the latest counts.
const workerURL = URL.createObjectURL(new Blob([live.worker], { type: 'text/javascript' }));
let module = null;
function Evaluator() {
  const w = new Worker(workerURL), waiting = new Map();
  let id = 0, busy = null;
  this.memory = 0;
  this.worker = w;
  const next = () => {
    if (busy || !waiting.size) return;
    const [name, job] = waiting.entries().next().value;
    waiting.delete(name);
    busy = job;
    job.id = ++id;
    w.postMessage(Object.assign({ id: job.id }, job.message));
  };
  w.onmessage = (e) => {
    const m = e.data;
    if (m.said !== undefined) { console.error(m.said); return; }
    if (!busy || m.id !== busy.id) return;
    if (m.progress) { if (busy.progress) busy.progress(m.progress); return; }
    const job = busy;
    busy = null;
    if (m.module) module = m.module;
    if (m.memory) this.memory = m.memory;
    job.done(m.answer);
    next();
  };
  // A worker that fails outside a request answers nothing more: all that wait are told, and all that come.
  let failed = '';
  w.onerror = w.onmessageerror = (e) => {
    failed = e.message || 'the worker does not start';
    const all = busy ? [busy, ...waiting.values()] : [...waiting.values()];
    busy = null;
    waiting.clear();
    for (const j of all) j.done({ error: failed });
  };
  const send = (name, message, progress) => new Promise((done) => {
    if (failed) { done({ error: failed }); return; }
    const old = waiting.get(name);
    if (old) old.done({ dropped: true });
    waiting.delete(name);
    waiting.set(name, { message, done, progress });
    next();
  });
  this.start = () => send('start', { start: true, packed: module ? null : $('live-module').textContent, module, brief: live.brief, layouts: live.layouts });
  this.ask = (request, name, progress) => send(name || request.op, { ask: request }, progress);
  this.end = () => { w.terminate(); if (busy) busy.done({ dropped: true }); for (const j of waiting.values()) j.done({ dropped: true }); };
}

// --- state ------------------------------------------------------------------------
let evaluator = null, about = null; // what the brief is about: its description
let design = null, answer = null;   // that is being tried
let begun = null;                   // {name, design, answer} where one started
const undo = [], trail = [], kept = [], found = [];
let moved = -1;                     // the parameter that was moved last

const clone = (d) => ({ layout: d.layout, material: d.material, values: d.values.slice() });
const same = (a, b) => a && b && a.layout === b.layout && a.material === b.material && a.values.every((v, i) => Object.is(v, b.values[i]));
const quantity = (v, unit) => (v === null || v === undefined ? '–' : typeof v === 'string' ? label(v) : fmt(v)) + (unit && typeof v === 'number' ? ' ' + unit : '');

// points are the varied numbers of each row of the page, as stored
const points = (() => {
  const s = atob(live.points), b = new Uint8Array(s.length);
  for (let i = 0; i < s.length; i++) b[i] = s.charCodeAt(i);
  return new Float64Array(b.buffer);
})();
// ofRow is the design of a row of the page
function ofRow(i) {
  const d = middle(), n = about.variables.length;
  about.variables.forEach((name, k) => {
    const v = points[i * n + k];
    if (name === 'layout' && about.free[0]) d.layout = v;
    else if (name === 'material' && about.free[1]) d.material = v;
    else {
      const j = about.parameters.findIndex((p) => p.name === name), p = about.parameters[j];
      d.values[j] = p.choices ? p.choices[v] : isNaN(v) ? null : v;
    }
  });
  return d;
}
// middle is the design of the middle of each range, the rest as in the brief
function middle() {
  return { layout: 0, material: 0, values: about.parameters.map((p) => !p.varied ? p.fixed : p.choices ? p.choices[0] : snap(p, p.log ? Math.sqrt(p.from * p.to) : (p.from + p.to) / 2)) };
}
// snap moves a value to a step of its parameter and into its range
function snap(p, v) {
  if (p.step) v = +(p.from + Math.round((v - p.from) / p.step) * p.step).toPrecision(12);
  return Math.min(p.to, Math.max(p.from, v));
}
// within is what is taken for a value that was asked for; where that is another, it says so
// beside the parameter's control, until that is moved again.
const taken = [];
function within(i, v) {
  const p = about.parameters[i], w = p.varied && p.step ? snap(p, v) : Math.min(p.to, Math.max(p.from, v));
  taken[i] = Math.abs(w - v) <= 1e-5 * Math.abs(v) ? '' : fmt(v) + ' is ' + (v < p.from || v > p.to ? (p.varied ? 'beyond the range' : 'beyond what makes sense') : 'between two steps') + ': ' + quantity(w, p.unit) + ' is taken';
  return w;
}
const parameterColumn = {};

// --- controls -----------------------------------------------------------------------
const controls = []; // by parameter: {number, slider, note}
// reach is what a slider of a fixed number covers: half to twice of it, within what makes sense
function reach(p) {
  if (p.varied) return [p.from, p.to];
  const v = p.fixed;
  if (v === null || v === 0) return p.to - p.from < 1e4 ? [p.from, p.to] : null;
  return [Math.max(p.from, Math.min(v / 2, 2 * v)), Math.min(p.to, Math.max(v / 2, 2 * v))];
}
function control(p, i) {
  const box = el('div', { className: 'live-control' }), note = el('p', { className: 'live-note', id: 'live-note-' + i, role: 'alert' });
  const name = label(p.name), title = el('label', { htmlFor: 'live-number-' + i, title: p.meaning }, name + (p.unit ? ', ' + p.unit : ''));
  const c = { note, set() {} };
  if (p.choices) {
    const select = el('select', { id: 'live-number-' + i }, ...p.choices.map((v, k) => el('option', { value: k }, fmt(v))));
    select.onchange = () => move(i, p.choices[+select.value], true);
    c.set = (v) => { select.value = p.choices.indexOf(v); };
    box.append(title, select, note);
  } else {
    const number = el('input', { id: 'live-number-' + i, type: 'number', step: 'any', 'aria-describedby': note.id }), span = reach(p);
    number.onchange = () => {
      if (number.value === '' && p.rule && !p.varied) { move(i, null, true); return; }
      const v = parseFloat(number.value);
      if (isFinite(v)) move(i, v, true); else c.set(design.values[i]);
    };
    box.append(title, number);
    let slider = null;
    if (span && span[1] > span[0]) {
      const steps = p.step && p.varied ? Math.round((p.to - p.from) / p.step) : 1000, log = p.log && p.varied;
      slider = el('input', { type: 'range', min: 0, max: steps, step: 1, 'aria-label': name + ', slider' });
      const at = (k) => k <= 0 ? span[0] : k >= steps ? span[1] : log ? span[0] * Math.pow(span[1] / span[0], k / steps) : span[0] + (span[1] - span[0]) * k / steps;
      const value = () => { const v = at(+slider.value); return p.step && p.varied ? snap(p, v) : +v.toPrecision(6); };
      slider.oninput = () => move(i, value(), false);
      slider.onchange = () => move(i, value(), true);
      c.slide = (v) => { slider.value = v === null ? 0 : Math.round(steps * (log ? Math.log(v / span[0]) / Math.log(span[1] / span[0]) : (v - span[0]) / (span[1] - span[0]))); slider.setAttribute('aria-valuetext', quantity(v, p.unit)); };
      box.append(slider);
    }
    c.set = (v, resolved) => {
      number.value = v === null ? '' : v;
      number.placeholder = v === null ? (resolved === null || resolved === undefined ? 'by rule' : fmt(resolved)) : '';
      number.title = v === null ? p.rule || '' : '';
      if (slider) c.slide(v === null ? (resolved === undefined ? null : resolved) : v);
    };
    box.append(note);
  }
  controls[i] = c;
  return box;
}
function chooser(what, names, free) {
  const select = el('select', { id: 'live-' + what }, ...names.map((n, k) => el('option', { value: k }, label(n))));
  select.disabled = names.length < 2;
  select.onchange = () => { remember(); design[what] = +select.value; moved = -1; changed(true); };
  return el('div', { className: 'live-control' }, el('label', { htmlFor: select.id }, what), select);
}

let before = null; // the design before a slider began to move
function remember() { undo.push(clone(design)); if (undo.length > 200) undo.shift(); }
function move(i, v, settled) {
  taken[i] = '';
  if (v !== null && !about.parameters[i].choices) v = within(i, v);
  if (!before) before = clone(design);
  design.values[i] = v;
  moved = i;
  if (settled) {
    if (!same(before, design)) { undo.push(before); if (undo.length > 200) undo.shift(); }
    before = null;
  }
  changed(settled);
}
function go(d, name) {
  if (design && !same(design, d)) remember();
  design = clone(d);
  taken.length = 0;
  Object.assign(taken, d.taken);
  moved = -1;
  before = null;
  return changed(true, name);
}

// --- evaluation -------------------------------------------------------------------
let idle = 0;
async function changed(settled, name) {
  for (let i = 0; i < controls.length; i++) controls[i].set(design.values[i], answer && answer.parameters[i]);
  for (const what of ['layout', 'material']) $('live-' + what).value = design[what];
  const asked = clone(design), t0 = performance.now();
  const a = await evaluator.ask({ op: 'evaluate', design: asked });
  if (a.dropped) return a;
  if (a.error) { status(a.error, true); blame(a.error); return a; }
  a.milliseconds = performance.now() - t0;
  a.design = asked;
  answer = a;
  if (name) begun = { name, design: asked, answer: a };
  if (settled) { trail.push({ design: asked, answer: a }); if (trail.length > 500) trail.shift(); }
  show();
  if (settled) history.replaceState(null, '', link());
  clearTimeout(idle);
  idle = setTimeout(details, 120);
  return a;
}

function status(text, bad) { const s = $('live-status'); s.textContent = text; s.className = bad ? 'warn' : ''; }
// blame puts a reason beside the control that was moved last, or those that it names
function blame(reason) {
  controls.forEach((c, i) => {
    const here = reason && (i === moved || moved < 0 && new RegExp('\\b' + about.parameters[i].name + '\\b').test(reason));
    c.note.textContent = [taken[i], here ? reason : ''].filter(Boolean).join('. ');
  });
}
const valueOf = (a, column) => column in a.measures ? a.measures[column] : column in parameterColumn ? a.parameters[parameterColumn[column]] : null;

function change(v, was) {
  if (typeof v !== 'number' || typeof was !== 'number') return '';
  if (v === was) return '=';
  if (was === 0) return (v > 0 ? '+' : '−') + fmt(Math.abs(v));
  const d = 100 * (v - was) / Math.abs(was);
  return (d > 0 ? '+' : '') + fmt(+d.toPrecision(3)) + '\u202f%';
}

const ofLayouts = (l) => (l.layouts ? ' of ' + l.layouts.join(', ') : '');
const holdsFor = (k, d) => { const only = about.limits[k].layouts; return !only || only.includes(about.layouts[d.layout]); };

let rows = null;
function tables() {
  rows = { limits: [], measures: [] };
  const limits = $('live-limits').tBodies[0], measures = $('live-measures').tBodies[0];
  const cells = (tr, list) => list.map((n) => { const td = el('td', n ? { className: 'n' } : {}); tr.append(td); return td; });
  about.limits.forEach((l, k) => {
    const m = about.measures.find((m) => m.column === l.column), p = about.parameters.find((p, i) => parameterColumn[l.column] === i);
    const tr = el('tr', {}, el('th', { scope: 'row', title: (m || p || {}).meaning || '' }, label((m || p || { name: l.column }).name) + ofLayouts(l)));
    const bound = l.at_least !== null && l.at_most !== null ? fmt(l.at_least) + ' to ' + fmt(l.at_most) : l.at_most !== null ? '≤ ' + fmt(l.at_most) : '≥ ' + fmt(l.at_least);
    const c = cells(tr, [1, 1, 1, 1]);
    c[2].textContent = bound + ((m || p || {}).unit ? ' ' + (m || p).unit : '');
    limits.append(tr);
    rows.limits.push({ tr, c, column: l.column, k });
  });
  for (const m of about.measures) {
    const tr = el('tr', {}, el('th', { scope: 'row', title: m.meaning }, label(m.name)));
    const c = cells(tr, [1, 0, 1]);
    c[1].textContent = m.unit;
    measures.append(tr);
    rows.measures.push({ c, m });
  }
}
function show() {
  const a = answer, was = begun && begun.answer;
  controls.forEach((c, i) => { if (document.activeElement !== $('live-number-' + i) || a.design.values[i] !== null) c.set(design.values[i], a.parameters[i]); });
  for (const r of rows.limits) {
    const v = valueOf(a, r.column), margin = a.margin[r.k], holds = holdsFor(r.k, a.design);
    r.c[0].textContent = quantity(v);
    r.c[1].textContent = was ? change(v, valueOf(was, r.column)) : '';
    r.c[3].textContent = !holds ? 'of other layouts' : margin === null ? (a.met[r.k] ? 'met' : 'not known') : (margin > 0 ? '+' : '') + fmt(+(100 * margin).toPrecision(3)) + '\u202f%';
    r.c[3].className = 'n' + (a.met[r.k] ? '' : ' broken');
  }
  for (const r of rows.measures) {
    const v = a.measures[r.m.column];
    r.c[0].textContent = quantity(v);
    r.c[2].textContent = was ? change(v, was.measures[r.m.column]) : '';
  }
  blame(a.status === 'solved' ? '' : a.reason);
  const goals = about.goals.map((g, k) => label(g.name) + ' ' + quantity(a.goals[k], g.unit)).join(', ');
  if (a.status !== 'solved') status(label(a.status) + ': ' + a.reason + '.', true);
  else if (a.feasible) status('It meets every limit: ' + goals + '.');
  else status('It fails ' + label(nameOfColumn(a.first_limit)) + ' most: ' + goals + '.', true);
  $('live-undo').disabled = !undo.length;
  $('live-reset').disabled = !begun;
  $('live-keep').disabled = kept.length >= 5;
  $('live-time').textContent = 'evaluated in ' + fmt(+a.milliseconds.toPrecision(2)) + ' ms';
  plot();
}
const nameOfColumn = (c) => { const m = about.measures.find((m) => m.column === c); return m ? m.name : c in parameterColumn ? about.parameters[parameterColumn[c]].name : c; };

// --- what is drawn ------------------------------------------------------------------
async function details() {
  picture();
  if ($('live-maps').open) maps();
  if ($('live-loop').open) loop();
}
const place = () => [+$('live-x').value / 100, +$('live-y').value / 100];
async function picture() {
  const [x, y] = place(), p = await evaluator.ask({ op: 'picture', design: clone(design), x, y });
  if (p.dropped) return;
  const svg = $('live-picture');
  if (p.error || !p.bodies) { svg.replaceChildren(); $('live-picture-note').textContent = p.error || p.why || ''; return; }
  const half = p.side / 2 * 1.03, f = (v) => v.toFixed(3), moving = p.moved || [];
  svg.setAttribute('viewBox', [-half, -half, 2 * half, 2 * half].map(f).join(' '));
  const boxes = (b) => b.boxes.map((r) => 'M' + f(r[0]) + ' ' + f(-r[1]) + 'H' + f(r[2]) + 'V' + f(-r[3]) + 'H' + f(r[0]) + 'Z').join('');
  const rest = draw('g', { class: 'rest' }), shifted = draw('g', { class: 'moved' });
  const held = {};
  for (const b of p.bodies) {
    if (b.class === 'ground') held[b.number] = true;
    rest.append(draw('path', { class: b.class, d: boxes(b) }));
    const q = moving[b.number];
    if (q && b.class !== 'ground') shifted.append(draw('path', { class: b.class, d: boxes(b), transform: 'translate(' + f(q[0]) + ' ' + f(-q[1]) + ') rotate(' + (-q[2] * 180 / Math.PI).toFixed(5) + ' ' + f(b.at[0]) + ' ' + f(-b.at[1]) + ')' }));
  }
  const at = {};
  for (const b of p.bodies) at[b.number] = b.at;
  const end = (k, x, y) => { const q = moving[k], o = at[k]; return !q || !o ? [x + (q ? q[0] : 0), y + (q ? q[1] : 0), q ? q[2] : 0] : [x + q[0] - q[2] * (y - o[1]), y + q[1] + q[2] * (x - o[0]), q[2]]; };
  for (const b of p.blades) {
    const [x0, y0, x1, y1] = b.at;
    rest.append(draw('path', { class: 'blade', d: 'M' + f(x0) + ' ' + f(-y0) + 'L' + f(x1) + ' ' + f(-y1) }));
    if (!moving.length) continue;
    const [u0, v0, r0] = end(b.from, x0, y0), [u1, v1, r1] = end(b.to, x1, y1), dx = (x1 - x0) / 3, dy = (y1 - y0) / 3;
    const q = [u0, v0, u0 + dx - r0 * dy, v0 + dy + r0 * dx, u1 - dx + r1 * dy, v1 - dy - r1 * dx, u1, v1].map((v, k) => f(k % 2 ? -v : v));
    shifted.append(draw('path', { class: 'blade', d: 'M' + q[0] + ' ' + q[1] + 'C' + q.slice(2).join(' ') }));
  }
  svg.replaceChildren(rest, shifted);
  const T = valueOf(answer, Object.keys(parameterColumn).find((c) => about.parameters[parameterColumn[c]].name === 'travel') || '');
  $('live-picture-note').textContent = p.why ? 'Not displaced: ' + p.why : 'Plate ' + quantity(p.side, 'mm') + ' wide, at rest (pale) and displaced to scale' + (typeof T === 'number' ? ', stage at (' + fmt(x * T) + ', ' + fmt(y * T) + ') mm' : '') + '.';
}
async function maps() {
  const g = await evaluator.ask({ op: 'maps', design: clone(design) });
  if (g.dropped || g.error) return;
  $('live-map-list').replaceChildren(...g.maps.map((m) => {
    const values = m.values.filter((v) => v !== null), lo = Math.min(...values), hi = Math.max(...values), svg = draw('svg', { class: 'map', viewBox: '0 0 ' + g.n + ' ' + g.n, role: 'img', 'aria-label': label(m.name) + ' from ' + fmt(lo) + ' to ' + fmt(hi) + ' ' + m.unit });
    m.values.forEach((v, k) => { if (v !== null) svg.append(draw('rect', { x: k % g.n, y: g.n - 1 - Math.floor(k / g.n), width: 1.02, height: 1.02, class: 'm' + Math.min(11, Math.max(0, Math.floor(12 * (v - lo) / ((hi - lo) || 1)))) })); });
    return el('figure', { className: 'mapfigure' }, el('figcaption', {}, label(m.name) + ', ' + m.unit), svg, el('p', { className: 'foot' }, values.length ? 'from ' + fmt(lo) + ' to ' + fmt(hi) + ' ' + m.unit + ' over ±' + fmt(g.at[g.at.length - 1]) + ' mm' : 'not solved'));
  }));
  $('live-map-note').textContent = g.maps.length ? '' : 'There are none: the design cannot be built, or has one driven axis.';
}
async function loop() {
  const l = await evaluator.ask({ op: 'loop', design: clone(design) });
  if (l.dropped || l.error) return;
  $('live-loop-note').textContent = l.curves.length ? 'Axis ' + l.axis + ', crossover ' + fmt(l.crossover) + ' Hz; what ends it: ' + l.end + '. Dashed: 1, and the most that |S| may be.' : 'This brief has no loop, or none holds for this design.';
  const W = 360, H = 220, L = 44, B = 26;
  $('live-loop-list').replaceChildren(...(l.curves.length ? ['open', 'sensitivity'] : []).map((what) => {
    let lo = Infinity, hi = 0;
    for (const c of l.curves) for (const v of c[what]) { lo = Math.min(lo, v); hi = Math.max(hi, v); }
    lo = Math.max(lo, 1e-4); hi = Math.max(hi, 2 * lo);
    const h0 = Math.log(l.curves[0].hz[0]), h1 = Math.log(l.curves[0].hz[l.curves[0].hz.length - 1]);
    const px = (hz) => L + (W - L - 8) * (Math.log(hz) - h0) / (h1 - h0), py = (v) => 8 + (H - B - 8) * (Math.log(hi) - Math.log(Math.max(v, lo))) / (Math.log(hi) - Math.log(lo));
    const svg = draw('svg', { class: 'chart', viewBox: '0 0 ' + W + ' ' + H, role: 'img', 'aria-label': what === 'open' ? 'Open loop' : 'Sensitivity' });
    for (const hz of [1, 10, 100, 1000]) svg.append(draw('path', { class: 'grid', d: 'M' + px(hz).toFixed(1) + ' 8V' + (H - B) }), draw('text', { class: 'middle', x: px(hz).toFixed(1), y: H - 8 }, hz + ' Hz'));
    for (let e = Math.ceil(Math.log10(lo)); e <= Math.log10(hi); e++) svg.append(draw('path', { class: 'grid', d: 'M' + L + ' ' + py(Math.pow(10, e)).toFixed(1) + 'H' + (W - 8) }), draw('text', { class: 'end', x: L - 4, y: (py(Math.pow(10, e)) + 4).toFixed(1) }, fmt(Math.pow(10, e))));
    const bound = what === 'open' ? 1 : l.limit;
    svg.append(draw('path', { class: 'bound', d: 'M' + L + ' ' + py(bound).toFixed(1) + 'H' + (W - 8) }));
    for (const c of l.curves) svg.append(draw('path', { class: 'curve thin', d: 'M' + c.hz.map((hz, k) => px(hz).toFixed(1) + ' ' + py(c[what][k]).toFixed(1)).join('L') }));
    return el('figure', {}, svg, el('figcaption', {}, what === 'open' ? '|L|, nine poses' : '|S|, nine poses'));
  }));
}

// The trail over the front: two goals, or a goal and the first number that varies.
function axesOf() {
  const list = about.goals.map((g, k) => ({ column: g.column, title: label(g.name) + (g.unit ? ', ' + g.unit : ''), get: (a) => a.goals[k] }));
  if (list.length < 2) { const p = about.parameters.find((p) => p.varied); if (p) { const i = about.parameters.indexOf(p), column = Object.keys(parameterColumn).find((c) => parameterColumn[c] === i); list.unshift({ column, title: label(p.name) + (p.unit ? ', ' + p.unit : ''), get: (a) => a.parameters[i] }); } }
  return list.slice(0, 2);
}
function plot() {
  const [ax, ay] = axesOf(), svg = $('live-plot');
  if (!ay) return;
  const W = 420, H = 300, L = 58, B = 40, cx = R.byName[ax.column], cy = R.byName[ay.column];
  const front = [];
  if (cx && cy) for (let i = 0; i < R.N; i++) if (R.klass[i] === 2 && isFinite(cx.values[i]) && isFinite(cy.values[i])) front.push([cx.values[i], cy.values[i]]);
  const at = (a) => [ax.get(a), ay.get(a)], ok = (q) => typeof q[0] === 'number' && typeof q[1] === 'number';
  const tried = trail.map((t) => at(t.answer)).filter(ok), now = at(answer), marks = kept.map((k) => at(k.answer)), pushed = found.map((k) => at(k.answer));
  const all = front.concat(tried, marks.filter(ok), pushed.filter(ok), ok(now) ? [now] : []);
  if (!all.length) { svg.replaceChildren(); return; }
  const span = (k) => { let lo = Infinity, hi = -Infinity; for (const q of all) { lo = Math.min(lo, q[k]); hi = Math.max(hi, q[k]); } const pad = 0.04 * (hi - lo) || Math.abs(hi) * 0.05 || 1; return [lo - pad, hi + pad]; };
  const [x0, x1] = span(0), [y0, y1] = span(1), px = (v) => (L + (W - L - 10) * (v - x0) / (x1 - x0)).toFixed(1), py = (v) => (10 + (H - B - 10) * (y1 - v) / (y1 - y0)).toFixed(1);
  const out = [draw('path', { class: 'grid', d: 'M' + L + ' 10V' + (H - B) + 'H' + (W - 10) }),
    draw('text', { x: L, y: H - B + 14 }, fmt(x0)), draw('text', { class: 'end', x: W - 10, y: H - B + 14 }, fmt(x1)), draw('text', { class: 'middle', x: (W + L) / 2, y: H - 6 }, ax.title),
    draw('text', { class: 'end', x: L - 5, y: H - B }, fmt(y0)), draw('text', { class: 'end', x: L - 5, y: 20 }, fmt(y1)),
    draw('text', { class: 'middle', transform: 'translate(12 ' + (H - B) / 2 + ') rotate(-90)' }, ay.title)];
  for (const q of front) out.push(draw('circle', { class: 'kfront', cx: px(q[0]), cy: py(q[1]), r: 2.5 }));
  if (tried.length > 1) out.push(draw('path', { class: 'live-trail', d: 'M' + tried.map((q) => px(q[0]) + ' ' + py(q[1])).join('L') }));
  for (const q of tried) out.push(draw('circle', { class: 'live-tried', cx: px(q[0]), cy: py(q[1]), r: 2 }));
  pushed.forEach((q) => { if (ok(q)) out.push(draw('path', { class: 'live-found', d: 'M' + px(q[0]) + ' ' + py(q[1]) + 'm-5 0l5 -5l5 5l-5 5z' })); });
  marks.forEach((q, k) => { if (ok(q)) out.push(draw('text', { class: 'live-mark middle', x: px(q[0]), y: +py(q[1]) - 7 }, kept[k].name)); });
  if (ok(now)) out.push(draw('circle', { class: 'kpick', cx: px(now[0]), cy: py(now[1]), r: 6 }));
  svg.replaceChildren(...out);
}

// --- where one is, in words that go elsewhere -------------------------------------------
const changedFrom = (d, base) => about.parameters.map((p, i) => i).filter((i) => about.parameters[i].varied || !Object.is(d.values[i], base.values[i]));
function link() {
  const words = [], base = middle();
  if (about.layouts.length > 1) words.push('layout=' + encodeURIComponent(about.layouts[design.layout]));
  if (about.materials.length > 1) words.push('material=' + encodeURIComponent(about.materials[design.material]));
  for (const i of changedFrom(design, base)) if (design.values[i] !== null) words.push(about.parameters[i].name + '=' + design.values[i]);
  return '#try:' + words.join(';');
}
// fromLink is the design of a link; what of it is not to be had is said beside the controls,
// or where there is none, below the buttons.
function fromLink(text) {
  const d = middle(), lost = [];
  taken.length = 0;
  for (const word of text.slice('#try:'.length).split(';')) {
    const [name, raw] = word.split('=');
    let value;
    try { value = decodeURIComponent(raw || ''); } catch (e) { value = ''; }
    const i = about.parameters.findIndex((p) => p.name === name), p = about.parameters[i];
    if (name === 'layout' || name === 'material') { const k = about[name + 's'].indexOf(value); if (k >= 0) d[name] = k; else lost.push(word); } else if (p && value !== '' && isFinite(+value) && (!p.choices || p.choices.includes(+value))) d.values[i] = p.choices ? +value : within(i, +value);
    else if (word) lost.push(word);
  }
  d.taken = taken.slice();
  $('live-copied').textContent = lost.length ? 'Not taken from the link: ' + lost.join(', ') : '';
  return d;
}
function command() {
  const base = middle(), words = ['flexwright', 'show', live.dir + '/brief.yaml'], quote = (s) => /^[\w@%+=:,./-]+$/.test(s) ? s : "'" + s.replace(/'/g, "'\\''") + "'";
  if (about.materials.length > 1) words.push('--set', 'material=' + about.materials[design.material]);
  for (const i of changedFrom(design, base)) if (design.values[i] !== null) { const p = about.parameters[i]; words.push('--set', p.name + '=' + design.values[i] + (p.unit ? ' ' + p.unit : '')); }
  return words.map(quote).join(' ');
}
async function copy(text, what) {
  const area = $('live-text');
  area.value = text;
  area.hidden = false;
  try { await navigator.clipboard.writeText(text); $('live-copied').textContent = what + ' copied'; } catch (e) { area.focus(); area.select(); $('live-copied').textContent = what + ': copy what is marked'; }
}

// --- the front -------------------------------------------------------------------------
// nearest is the row of the front whose varied numbers are nearest, each in shares of its range
function nearest() {
  let best = -1, least = Infinity;
  for (let i = 0; i < R.N; i++) {
    if (R.klass[i] !== 2) continue;
    const d = ofRow(i);
    let far = (d.layout !== design.layout) + (d.material !== design.material);
    about.parameters.forEach((p, k) => { if (p.varied) { const w = (p.choices ? Math.max(...p.choices) - Math.min(...p.choices) : p.to - p.from) || 1, t = (d.values[k] - design.values[k]) / w; far += t * t; } });
    if (far < least) { least = far; best = i; }
  }
  return best;
}
function keep(name) {
  if (kept.length >= 5 || !answer) return;
  kept.push({ name: name || String.fromCharCode(65 + kept.length), design: clone(answer.design), answer });
  compare();
  show();
}
function compare() {
  const t = $('live-kept');
  t.hidden = !kept.length;
  const head = el('tr', {}, el('th', {}, ''), ...kept.map((k, n) => {
    const name = el('input', { value: k.name, size: 8, 'aria-label': 'name of kept design ' + (n + 1), maxLength: 40 });
    name.onchange = () => { k.name = name.value; plot(); };
    return el('th', { scope: 'col' }, name, ' ', el('button', { type: 'button', onclick: () => go(k.design), ariaLabel: 'Go to kept design ' + (n + 1) }, 'go'), ' ', el('button', { type: 'button', onclick: () => { kept.splice(n, 1); compare(); show(); }, ariaLabel: 'Drop kept design ' + (n + 1) }, '×'));
  }));
  const line = (name, get) => el('tr', {}, el('th', { scope: 'row' }, name), ...kept.map((k) => el('td', { className: 'n' }, get(k))));
  const lines = [];
  if (about.layouts.length > 1) lines.push(line('layout', (k) => about.layouts[k.design.layout]));
  if (about.materials.length > 1) lines.push(line('material', (k) => about.materials[k.design.material]));
  about.parameters.forEach((p, i) => { if (p.varied || kept.some((k) => !Object.is(k.design.values[i], p.fixed))) lines.push(line(label(p.name), (k) => quantity(k.answer.parameters[i], p.unit))); });
  about.goals.forEach((g, n) => { if (!g.parameter) lines.push(line(label(g.name), (k) => quantity(k.answer.goals[n], g.unit))); });
  about.limits.forEach((l, n) => lines.push(line(label(nameOfColumn(l.column)) + ofLayouts(l), (k) => holdsFor(n, k.design) ? quantity(valueOf(k.answer, l.column)) + (k.answer.met[n] ? '' : ' ✗') : '–')));
  t.tHead.replaceChildren(head);
  t.tBodies[0].replaceChildren(...lines);
}

let pusher = null;
async function push() {
  if (pusher) { pusher.stopped = true; pusher.end(); return; }
  const g = +$('live-goal').value, goal = about.goals[g], button = $('live-push');
  button.textContent = 'Stop';
  const p = pusher = new Evaluator();
  const asked = +$('live-designs').value, designs = Math.min(2000, Math.max(24, Math.round(asked) || 240)), seed = Math.max(0, Math.round(+$('live-seed').value) || 0);
  const bounded = designs === asked ? '' : ', from 24 to 2000 are possible';
  $('live-seed').value = seed;
  let best = null;
  const say = (a, how) => { $('live-push-note').textContent = how + ' ' + a.done + ' of ' + a.of + ' designs' + bounded + ', ' + a.feasible + ' feasible; ' + (a.design ? label(goal.name) + ' ' + quantity(a.value, goal.unit) : 'nothing better yet'); $('live-progress').value = a.done / a.of; };
  $('live-progress').hidden = false;
  const begin = await p.start();
  let a = begin.error || begin.dropped ? begin : await p.ask({ op: 'push', design: clone(design), goal: g, seed, designs }, 'push', (q) => { best = q; say(q, 'Searching:'); });
  pusher = null;
  p.end();
  button.textContent = 'Push to the front';
  $('live-progress').hidden = true;
  if (a.error) { $('live-push-note').textContent = a.error; return; }
  if (a.dropped) a = best;
  if (!a) { $('live-push-note').textContent = 'Stopped before the first designs.'; return; }
  say(a, p.stopped ? 'Stopped:' : 'Done:');
  if (!a.design) return;
  const e = await go(a.design);
  if (!e.error && !e.dropped) { found.push({ answer: e }); $('live-push-note').textContent += '. Found by this page, not by the run.'; plot(); }
}

// --- beginning -----------------------------------------------------------------------------
// check compares the page's own numbers with those of the run, on the picked designs
async function check() {
  let worst = 0, n = 0, where = '';
  for (const i of (R.data.picks || []).slice(0, 5)) {
    const a = await evaluator.ask({ op: 'evaluate', design: ofRow(i) }, 'check');
    if (a.error || a.dropped) continue;
    n++;
    for (const m of about.measures) {
      const c = R.byName[m.column], v = a.measures[m.column];
      if (!c || c.names || typeof v !== 'number' || !isFinite(c.values[i])) continue;
      const d = Math.abs(v - c.values[i]) / (Math.abs(c.values[i]) + 1e-9 * Math.abs(c.hi)) ;
      if (d > worst && Math.abs(c.values[i]) > 1e-6 * Math.max(Math.abs(c.lo), Math.abs(c.hi))) { worst = d; where = m.name; }
    }
  }
  // the page holds the run's numbers in single precision
  $('live-check').textContent = !n ? '' : worst < 1e-5 ? 'Its numbers are those of the run on ' + n + ' designs, to what the page holds of these.' : 'Its numbers differ from those of the run by up to ' + fmt(100 * worst) + '\u202f% (' + label(where) + '): the run was made by another version.';
  $('live-check').className = worst < 1e-5 ? 'foot' : 'warn';
}

let starting = null;
function start() {
  if (!starting) starting = begin();
  return starting;
}
async function begin() {
  const t0 = performance.now();
  $('live-start').disabled = true;
  status('The evaluator starts …');
  evaluator = new Evaluator();
  const a = await evaluator.start();
  if (a.error) { status('The evaluator does not start: ' + a.error, true); return; }
  about = await evaluator.ask({ op: 'describe' });
  if (about.error) { status(about.error, true); return; }
  about.columns.forEach((c, i) => { parameterColumn[c] = i; });
  const varied = $('live-varied'), fixed = $('live-fixed');
  varied.append(chooser('layout', about.layouts), chooser('material', about.materials));
  about.parameters.forEach((p, i) => (p.varied ? varied : fixed).append(control(p, i)));
  about.goals.forEach((g, k) => $('live-goal').append(el('option', { value: k }, g.sense + ' ' + label(g.name))));
  tables();
  $('live-started').hidden = false;
  $('live-start').hidden = true;
  $('live-footing').textContent = 'Evaluator of version ' + live.version + ', SHA-256 ' + live.digest.slice(0, 16) + '…, started in ' + fmt(+((performance.now() - t0) / 1000).toPrecision(2)) + ' s, ' + Math.round(evaluator.memory / 1048576) + ' MB.';
  const first = (R.data.picks || [])[0];
  if (location.hash.startsWith('#try:')) await go(fromLink(location.hash), 'the link');
  else if (first !== undefined) await go(ofRow(first), 'design ' + R.nameOf(first));
  else await go(middle(), about.layouts.length > 1 || about.materials.length > 1 || about.parameters.some((p) => p.varied) ? 'the middle of the ranges' : 'the design of the brief');
  $('live-begun').textContent = begun ? 'Changes are against ' + begun.name + '.' : '';
  check();
}
async function take(i) {
  await start();
  if (!about || about.error) return;
  await go(ofRow(i), 'design ' + R.nameOf(i));
  $('live-begun').textContent = begun ? 'Changes are against ' + begun.name + '.' : '';
  show();
}
let offered = -1;
R.onPick((i) => {
  offered = i;
  $('live-take').hidden = false;
  $('live-take').textContent = 'Try design ' + R.nameOf(i);
});
$('live-take').onclick = () => { take(offered); $('try').scrollIntoView(); };
$('live-start').onclick = start;
$('live-undo').onclick = () => { const d = undo.pop(); if (d) { design = d; moved = -1; changed(false); history.replaceState(null, '', link()); } };
$('live-reset').onclick = () => go(begun.design);
$('live-snap').onclick = () => { const i = nearest(); if (i >= 0) { go(ofRow(i)); $('live-copied').textContent = 'design ' + R.nameOf(i); } };
$('live-keep').onclick = () => keep();
$('live-push').onclick = push;
$('live-link').onclick = () => { history.replaceState(null, '', link()); copy(location.href, 'Link'); };
$('live-brief').onclick = async () => { const b = await evaluator.ask({ op: 'brief', design: clone(design) }); if (b.text) copy(b.text, 'Brief'); else if (b.error) status(b.error, true); };
$('live-command').onclick = () => copy(command(), 'Command');
for (const k of ['x', 'y']) $('live-' + k).oninput = picture;
for (const k of ['maps', 'loop']) $('live-' + k).ontoggle = () => { if ($('live-' + k).open && answer) (k === 'maps' ? maps : loop)(); };
addEventListener('hashchange', async () => { if (location.hash.startsWith('#try:')) { await start(); if (about && !about.error && link() !== location.hash) go(fromLink(location.hash), 'the link'); } });
if (location.hash.startsWith('#try:')) start();
window.flexwrightLive = { start, worker: () => evaluator.worker, take, go, ofRow, middle, fromLink, link, command, push, state: () => ({ design, answer, about, begun, kept, found, trail, undo: undo.length, memory: evaluator && evaluator.memory }), evaluate: (d) => evaluator.ask({ op: 'evaluate', design: d }, 'own'), brief: (d) => evaluator.ask({ op: 'brief', design: d }, 'own brief') };
})();
