// Files dropped on the field, or chosen, are sent at once: they are looked at, and nothing is kept by that.
const form = document.querySelector('form.drop'), files = form?.querySelector('input[type=file]')
files?.addEventListener('change', () => files.files.length && form.requestSubmit())
for (const name of ['dragover', 'dragleave', 'drop']) form?.addEventListener(name, e => { e.preventDefault(); form.classList.toggle('over', name === 'dragover') })
form?.addEventListener('drop', e => { files.files = e.dataTransfer.files; files.files.length && form.requestSubmit() })
