// The input line: read while it is typed, kept by a second Enter or a touch. Other forms are one touch each.
import { post, put } from './queue.js'
const said = document.getElementById('said'), words = document.getElementById('words')
let timer, read = '', turn = 0
const show = html => { said.innerHTML = html }
async function look() {
  clearTimeout(timer)
  const line = words.value.trim(), mine = ++turn
  if (!line) { read = ''; return show('') }
  try {
    const answer = await post(words.form.action, { ...fields(words.form), line, dry: 1 }), html = await answer.text()
    if (mine === turn && answer.ok) { show(html); read = said.querySelector('[data-ok="1"]') ? line : '' }
  } catch { read = line } // no connection: it can still be kept, and waits
  button()
}
const button = () => { document.getElementById('keep').textContent = read && read === words.value.trim() ? 'keep' : 'read' }
words?.addEventListener('input', () => { clearTimeout(timer); timer = setTimeout(look, 250); button() })
const fields = form => { const f = {}; for (const [k, v] of new FormData(form)) if (typeof v === 'string') f[k] = k in f ? [f[k], v].flat() : v; return f }
addEventListener('submit', async e => {
  const form = e.target
  if (!said || form.method !== 'post' || form.enctype.startsWith('multipart')) return
  e.preventDefault()
  const f = fields(form), b = e.submitter
  if (form.id === 'say') {
    if (read !== words.value.trim() || !read) return look()
    turn++; read = ''; words.value = ''; clearTimeout(timer); button()
    return put(form.action, f)
  }
  if (b?.name) f[b.name] = b.value
  if (f.dry) return show(await (await post(form.action, f)).text()), said.scrollIntoView({ block: 'nearest' })
  if (form.classList.contains('keepit') && words) { turn++; read = ''; words.value = ''; button() }
  return put(form.action, f).then(() => said.querySelector('[data-kept="1"]') && form.reset())
})
addEventListener('answered', e => said && show(e.detail))
addEventListener('keydown', e => { const b = document.querySelector(`[data-key="${e.key}"]`); if (b) { e.preventDefault(); b.click() } })
