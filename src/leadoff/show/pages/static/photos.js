// Photos wait too: bytes do not fit where the words wait, so they lie in the browser's own store until the book has them.
import { sent } from './queue.js'
const base = () => new Promise((good, bad) => { const r = indexedDB.open('leadoff', 1); r.onupgradeneeded = () => r.result.createObjectStore('photos', { keyPath: 'once' }); r.onsuccess = () => good(r.result); r.onerror = () => bad(r.error) })
const act = async (mode, what) => { const store = (await base()).transaction('photos', mode).objectStore('photos'), r = what(store); return new Promise((good, bad) => { r.onsuccess = () => good(r.result); r.onerror = () => bad(r.error) }) }
const bar = document.getElementById('photos')
const tell = async () => { const n = await act('readonly', s => s.count()); bar.hidden = !n; bar.textContent = n + (n === 1 ? ' photo waits' : ' photos wait') + ' to be sent' }
let busy = false
async function drain() {
  if (busy) return
  busy = true
  try {
    for (let one; (one = (await act('readonly', s => s.getAll()))[0]);) {
      const form = new FormData()
      for (const k of ['once', 'seen']) form.append(k, one[k])
      form.append('age_s', ((Date.now() - one.typed) / 1000).toFixed(1)); form.append('photo', one.blob, 'photo')
      const answer = await fetch(one.url, { method: 'POST', headers: { 'X-Leadoff': 'part' }, body: form })
      if (answer.status >= 500 || [401, 403, 429].includes(answer.status)) break
      await act('readwrite', s => s.delete(one.once))
      sent(await answer.text())
    }
  } catch { /* no connection: they wait */ } finally { busy = false; tell() }
}
document.getElementById('photo')?.addEventListener('change', async e => {
  const input = e.target, once = Date.now().toString(36) + Math.random().toString(36).slice(2), at = { url: input.form.action, typed: Date.now(), seen: document.body.dataset.heads }
  try { for (const blob of input.files) await act('readwrite', s => s.put({ ...at, once: once + blob.name.slice(-20), blob })) }
  catch { return input.form.requestSubmit() } // no store in this browser: sent at once or not at all
  input.value = ''
  await tell(); drain()
})
addEventListener('online', drain)
addEventListener('drain', drain)
setInterval(drain, 3000)
if (window.indexedDB) drain()
