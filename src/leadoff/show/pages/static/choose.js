// Choices answer at once; a row of values that have an order gets a slider. Without script there is a button.
const form = document.querySelector('form.live'), told = [...document.querySelectorAll('[data-told]')]
for (const select of form?.querySelectorAll('select[data-slide]') || []) {
  const range = Object.assign(document.createElement('input'), { type: 'range', min: 0, max: select.options.length - 1, value: select.selectedIndex })
  range.setAttribute('aria-label', select.labels[0].firstChild.data.trim())
  range.addEventListener('input', () => { select.selectedIndex = range.value; select.dispatchEvent(new Event('change', { bubbles: true })) })
  select.addEventListener('change', () => { range.value = select.selectedIndex })
  select.labels[0].after(range)
}
let timer, turn = 0
form?.addEventListener('change', () => { clearTimeout(timer); timer = setTimeout(look, 250) })
async function look() {
  const mine = ++turn, asked = new URLSearchParams([...new FormData(form)].filter(([, v]) => v)), at = form.action + '?' + asked
  told[0].setAttribute('aria-busy', 'true')
  try {
    const page = new DOMParser().parseFromString(await (await fetch(at)).text(), 'text/html')
    if (mine !== turn || !page.getElementById('told')) return
    for (const part of told) part.replaceChildren(...page.getElementById(part.id).childNodes)
    history.replaceState(null, '', at); dispatchEvent(new Event('refreshed'))
  } catch { /* the last answer stands */ }
  if (mine === turn) told[0].removeAttribute('aria-busy')
}
