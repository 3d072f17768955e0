// What others enter shows here at once: the page is asked for again and its live parts put in place.
import { drain } from './queue.js'
const lost = document.getElementById('line')
let again = 0
async function refresh() {
  const mine = ++again
  const page = new DOMParser().parseFromString(await (await fetch(location.href)).text(), 'text/html')
  if (mine !== again || !page.querySelector('[data-live]')) return
  Object.assign(document.body.dataset, page.body.dataset)
  for (const part of document.querySelectorAll('[data-live]')) {
    const fresh = page.getElementById(part.id)
    if (fresh && fresh.innerHTML !== part.innerHTML) part.replaceWith(fresh)
  }
  dispatchEvent(new Event('refreshed'))
}
let slow
async function load() {
  const part = document.querySelector('[data-load]')
  if (!part) return
  clearTimeout(slow)
  slow = setTimeout(async () => {
    const page = new DOMParser().parseFromString(await (await fetch(part.dataset.load)).text(), 'text/html')
    const fresh = page.getElementById(part.id)
    if (fresh) { part.replaceChildren(...fresh.childNodes); dispatchEvent(new Event('refreshed')) }
  }, 400)
}
const source = new EventSource('/live')
source.onmessage = e => { if (e.data !== document.body.dataset.head) { refresh().catch(() => {}); load() } }
source.onopen = () => { lost.hidden = true; drain(); dispatchEvent(new Event('drain')) }
source.onerror = () => { lost.hidden = false }
addEventListener('answered', () => refresh().catch(() => {}))
load()
