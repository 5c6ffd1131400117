(function () {
'use strict';
const { fmt } = window.flexwrightReport;

// --- stage in motion -------------------------------------------------------------
function Motion(figure) {
  const m = JSON.parse(figure.querySelector('.motion').textContent);
  const controls = figure.querySelector('.motioncontrols'), play = controls.querySelector('button'), slider = controls.querySelector('input');
  const bodies = [...figure.querySelectorAll('.moved [data-body]')], blades = [...figure.querySelectorAll('.moved .blade')];
  const origin = m.origin, n = m.frames.length, f = new Float64Array(3 * origin.length);
  function at(degrees) {
    const t = (degrees % 360) / 360 * n, k = Math.floor(t) % n, r = t - Math.floor(t), a = m.frames[k], b = m.frames[(k + 1) % n];
    for (let i = 0; i < f.length; i++) f[i] = a[i] + r * (b[i] - a[i]);
    for (const e of bodies) {
      const k = +e.dataset.body;
      e.setAttribute('transform', 'translate(' + f[3 * k].toFixed(3) + ' ' + f[3 * k + 1].toFixed(3) + ') rotate(' + (f[3 * k + 2] * 180 / Math.PI).toFixed(4) + ' ' + origin[k][0] + ' ' + origin[k][1] + ')');
    }
    const end = (k, x, y) => k < 0 ? [x, y, 0] : [x + f[3 * k] - f[3 * k + 2] * (y - origin[k][1]), y + f[3 * k + 1] + f[3 * k + 2] * (x - origin[k][0]), f[3 * k + 2]];
    m.blades.forEach((b, i) => {
      const [x0, y0, r0] = end(b.root, b.at[0], b.at[1]), [x1, y1, r1] = end(b.tip, b.at[2], b.at[3]);
      const dx = (b.at[2] - b.at[0]) / 3, dy = (b.at[3] - b.at[1]) / 3;
      blades[i].setAttribute('d', 'M' + [x0, y0].map((v) => v.toFixed(2)) + 'C' + [x0 + dx - r0 * dy, y0 + dy + r0 * dx, x1 - dx + r1 * dy, y1 - dy - r1 * dx, x1, y1].map((v) => v.toFixed(2)));
    });
    slider.value = degrees;
  }
  let running = false, angle = 0, before = 0, visible = false, wanted = false;
  function step(now) {
    if (!running) return;
    if (before) angle = (angle + (now - before) * 0.06) % 360; // six seconds around
    before = now;
    at(angle);
    requestAnimationFrame(step);
  }
  function set(on) {
    wanted = on;
    play.textContent = on ? 'Pause' : 'Play';
    const go = on && visible;
    if (go && !running) { running = true; before = 0; requestAnimationFrame(step); } else if (!go) running = false;
  }
  play.onclick = () => set(!wanted);
  slider.oninput = () => { angle = +slider.value; set(false); at(angle); };
  controls.hidden = false;
  new IntersectionObserver((e) => { visible = e[e.length - 1].isIntersecting; set(wanted); }).observe(figure);
  at(45); angle = 45;
  set(!matchMedia('(prefers-reduced-motion: reduce)').matches);
}

// --- values under the pointer in the maps ---------------------------------------
for (const map of document.querySelectorAll('svg.map')) {
  const foot = map.closest('figure').querySelector('.foot'), still = foot.textContent;
  let values = null;
  map.addEventListener('pointermove', (e) => {
    values = values || map.dataset.values.split(',');
    const n = +map.dataset.n, T = +map.dataset.travel, r = map.getBoundingClientRect();
    const i = Math.min(n - 1, Math.max(0, Math.floor((e.clientX - r.left) / r.width * n))), j = Math.min(n - 1, Math.max(0, Math.floor((r.bottom - e.clientY) / r.height * n)));
    const v = values[j * n + i], mm = (k) => fmt(T * (2 * k - n + 1) / (n - 1));
    foot.textContent = 'at (' + mm(i) + ', ' + mm(j) + ') mm: ' + (v === '' ? 'not solved' : fmt(+v) + ' ' + map.dataset.unit);
  });
  map.addEventListener('pointerleave', () => { foot.textContent = still; });
}

// --- print ---------------------------------------------------------------------
// what is folded is part of a print
let folded = [];
addEventListener('beforeprint', () => { folded = [...document.querySelectorAll('details:not([open])')].filter((d) => !d.closest('.controls, .parallel')); for (const d of folded) d.open = true; });
addEventListener('afterprint', () => { for (const d of folded) d.open = false; folded = []; });

for (const f of document.querySelectorAll('.picture')) if (f.querySelector('.motion')) Motion(f);
})();
