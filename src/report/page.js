/*
 * page.js - what report.html does beyond what it does without a script: the table of pictures
 * can be sorted, and an enlarged picture obeys the keyboard.
 *
 * Holds neither the less-than sign nor the ampersand, so that the page stays well-formed XML.
 */
'use strict';

/* ---- the table: a button in each heading cell ---- */

function valueOf(row, column, numeric) {
    const cell = row.cells[column];
    if (!numeric) {
        return cell.textContent.trim();
    }
    const first = cell.firstChild ? cell.firstChild.textContent : ''; /* before a line that adds to it */
    const value = parseFloat((cell.dataset.v || first).replace('\u2212', '-'));
    return Number.isNaN(value) ? '' : value;
}

/* Rows without a value come last, whichever way; equal ones keep their order. */
function sortRows(table, column, numeric, sign) {
    const collator = new Intl.Collator('en', { numeric: true });
    const body = table.tBodies[0];
    const rows = Array.from(body.rows, (row) => ({ row, value: valueOf(row, column, numeric) }));
    rows.sort((a, b) => {
        if (a.value === '' || b.value === '') {
            return (a.value === '') - (b.value === '');
        }
        return sign * (numeric ? a.value - b.value : collator.compare(a.value, b.value));
    });
    body.append(...rows.map((entry) => entry.row));
}

function sortBy(table, head, column) {
    const descending = head.getAttribute('aria-sort') === 'ascending';
    for (const other of head.parentNode.cells) {
        other.removeAttribute('aria-sort');
    }
    head.setAttribute('aria-sort', descending ? 'descending' : 'ascending');
    const numeric = head.classList.contains('n') || head.classList.contains('t');
    sortRows(table, column, numeric, descending ? -1 : 1);
}

function addButtons(table) {
    Array.from(table.tHead.rows[0].cells).forEach((head, column) => {
        const button = document.createElement('button');
        button.type = 'button';
        button.append(...head.childNodes);
        button.addEventListener('click', () => sortBy(table, head, column));
        head.append(button);
    });
}

/* On paper they are of no use, and a head with buttons is not repeated on the next sheet. */
function removeButtons(table) {
    for (const button of table.tHead.querySelectorAll('button')) {
        button.replaceWith(...button.childNodes);
    }
}

function makeSortable(table) {
    addButtons(table);
    window.addEventListener('beforeprint', () => removeButtons(table));
    window.addEventListener('afterprint', () => addButtons(table));
}

/* ---- the enlarged picture: Escape, arrows, and where the focus goes ---- */

let sheet = null; /* the one that is enlarged */
let opener = null; /* the link that did it */
let height = 0; /* where it stood in the window then */

function linkOf(name) {
    return sheet ? sheet.querySelector('.tools .' + name) : null;
}

function follow(name) {
    const link = linkOf(name);
    if (link) {
        location.replace(link.getAttribute('href'));
    }
    return Boolean(link);
}

function show(next) {
    if (sheet) {
        sheet.removeAttribute('role');
        sheet.removeAttribute('aria-modal');
        sheet.removeAttribute('aria-label');
        sheet.removeAttribute('tabindex');
    }
    sheet = next;
    if (sheet) {
        sheet.setAttribute('role', 'dialog');
        sheet.setAttribute('aria-modal', 'true');
        sheet.setAttribute('aria-label', 'Enlarged picture');
        sheet.tabIndex = -1;
        sheet.focus({ preventScroll: true });
    }
}

function followTarget() {
    const target = document.getElementById(location.hash.slice(1));
    const next = target ? target.closest('.sheet') : null;
    const closed = sheet;
    show(next);
    if (!closed || next) {
        return;
    }
    const back = opener ? opener : closed.querySelector('.open');
    back.focus({ preventScroll: true });
    if (opener) {
        window.scrollBy({ top: back.getBoundingClientRect().top - height, behavior: 'instant' });
    }
    opener = null;
}

/* The focus stays within the enlarged picture. */
function keepFocus(event) {
    const links = Array.from(sheet.querySelectorAll('.tools a'));
    const now = links.indexOf(document.activeElement);
    const step = event.shiftKey ? -1 : 1;
    const start = now === -1 ? (event.shiftKey ? 0 : -1) : now;
    links[(start + step + links.length) % links.length].focus();
}

function onKey(event) {
    if (!sheet || event.altKey || event.ctrlKey || event.metaKey) {
        return;
    }
    const does = {
        Escape: () => follow('close'),
        ArrowLeft: () => follow('previous'),
        ArrowRight: () => follow('next'),
        Tab: () => keepFocus(event)
    }[event.key];
    if (does) {
        event.preventDefault();
        does();
    }
}

document.addEventListener('click', (event) => {
    const link = event.target.closest('a[href^="#picture-"]');
    if (!link) {
        return;
    }
    if (sheet) {
        /* one step of history for all pictures looked at in turn; the picture itself closes it */
        event.preventDefault();
        if (link.classList.contains('open')) {
            follow('close');
        } else {
            location.replace(link.getAttribute('href'));
        }
        return;
    }
    opener = link;
    height = link.getBoundingClientRect().top;
});
document.addEventListener('keydown', onKey);
window.addEventListener('hashchange', followTarget);
followTarget();
const framesTable = document.getElementById('frames-table');
if (framesTable) {
    makeSortable(framesTable);
}
