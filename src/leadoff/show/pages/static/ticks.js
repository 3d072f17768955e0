// Ticked moves stay ticked over a reload, and go when everything on the list is done and said.
const KEY = 'leadoff-ticks', kept = () => JSON.parse(localStorage.getItem(KEY) || '{}')
const restore = () => { const k = kept(); for (const t of document.querySelectorAll('.tick')) t.checked = t.checked || !!k[t.id] }
addEventListener('change', e => { if (e.target.classList?.contains('tick')) { const k = kept(); e.target.checked ? k[e.target.id] = 1 : delete k[e.target.id]; localStorage.setItem(KEY, JSON.stringify(k)) } })
addEventListener('refreshed', restore)
restore()
