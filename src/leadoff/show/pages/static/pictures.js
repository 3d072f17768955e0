// Pictures come as SVG with a sentence on every mark; the nearest one shows beside a finger or pointer.
function draw() {
  for (const figure of document.querySelectorAll('[data-picture]:not(.drawn)')) {
    const small = figure.clientWidth < 600, at = figure.dataset.picture
    figure.classList.add('drawn')
    fetch(at + (small ? (at.includes('?') ? '&' : '?') + 'width=360' : '')).then(r => r.ok ? r.text() : Promise.reject()).then(t => {
      const svg = new DOMParser().parseFromString(t, 'image/svg+xml').documentElement
      svg.setAttribute('role', 'group'); svg.setAttribute('aria-label', figure.querySelector('img').alt)
      figure.querySelector('img').replaceWith(svg)
    }).catch(() => {})
  }
}
draw()
addEventListener('refreshed', draw)
const tip = Object.assign(document.body.appendChild(document.createElement('div')), { id: 'tip', hidden: true })
addEventListener('pointermove', near); addEventListener('pointerdown', near)
function near(e) {
  const svg = e.target.closest?.('[data-picture] svg')
  let best, far = 24
  for (const m of svg?.querySelectorAll('[aria-roledescription][aria-label]') || []) {
    const b = m.getBoundingClientRect(), d = Math.hypot(Math.max(b.left - e.clientX, 0, e.clientX - b.right), Math.max(b.top - e.clientY, 0, e.clientY - b.bottom))
    if (d < far && !/axis|group|chart/.test(m.getAttribute('aria-roledescription'))) { far = d; best = m }
  }
  tip.hidden = !best
  if (best) { tip.textContent = best.getAttribute('aria-label'); tip.style.left = Math.min(e.clientX + 12, innerWidth - tip.offsetWidth - 4) + 'px'; tip.style.top = e.clientY + 16 + 'px' }
}
