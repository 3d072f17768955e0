// Inputs wait here until the book has them; each has an id of its own, so sent twice it is kept once.
const KEY = 'leadoff-waiting'
const list = () => JSON.parse(localStorage.getItem(KEY) || '[]')
const store = q => { localStorage.setItem(KEY, JSON.stringify(q)); tell(q) }
const tell = q => { const p = document.getElementById('waiting'); p.hidden = !q.length; p.textContent = q.length + ' waiting to be sent: ' + q.map(i => i.fields.line || i.url).join('; ') }
export const sent = html => dispatchEvent(new CustomEvent('answered', { detail: html }))
const drop = once => store(list().filter(i => i.fields.once !== once))
let busy = false
export const post = (url, fields) => fetch(url, { method: 'POST', headers: { 'X-Leadoff': 'part' }, body: new URLSearchParams(fields) })
export async function drain() {
  if (busy) return
  busy = true
  try {
    for (let q; (q = list()).length;) {
      const { url, fields, typed } = q[0]
      const answer = await post(url, [...Object.entries(fields).flatMap(([k, v]) => [v].flat().map(x => [k, x])), ['age_s', ((Date.now() - typed) / 1000).toFixed(1)]])
      if (answer.status >= 500 || [401, 403, 429].includes(answer.status)) break
      drop(fields.once)
      sent(await answer.text())
    }
  } catch { /* no connection: it waits */ } finally { busy = false; tell(list()) }
}
export function put(url, fields) {
  const once = Date.now().toString(36) + Math.random().toString(36).slice(2)
  store([...list(), { url, typed: Date.now(), fields: { ...fields, once, seen: document.body.dataset.heads } }])
  return drain()
}
addEventListener('online', drain)
setInterval(drain, 3000)
drain()
