// What every page loads; each part is a few hundred bytes and the page reads without any of them.
import './queue.js'
import './say.js'
import './live.js'
import './ticks.js'
import './pictures.js'
import './drop.js'
import './choose.js'
import './photos.js'
document.documentElement.classList.add('scripted')
const here = document.querySelector('.ways [aria-current]'), ways = here?.parentElement
if (ways && ways.scrollWidth > ways.clientWidth) ways.scrollLeft = here.offsetLeft - (ways.clientWidth - here.offsetWidth) / 2
