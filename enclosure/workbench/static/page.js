// Joins the form, the drawing and the pieces of HTML that the server sends. Everything is reckoned by the server.
(function () {
  'use strict';
  const form = document.getElementById('brief');
  const stage = new window.ShelterStage();
  const known = {};        // what the server holds for each field
  let rev = 0;
  const boxes = () => form.querySelectorAll('input[name], select[name]');
  const slug = (key) => key.replace(/[._]/g, '-');

  function take(force) {
    const script = document.getElementById('answer');
    if (!script || script.dataset.taken) return;
    script.dataset.taken = 'yes';
    const answer = JSON.parse(script.textContent);
    rev = answer.rev;
    for (const box of boxes()) {
      const key = box.name, said = answer.values[key] || '';
      if (answer.choices[key]) choices(box, answer.choices[key]);
      const typing = box === document.activeElement && box.value !== known[key] && !answer.force && !force;
      if (!typing && box.value !== said) {
        if (box.tagName === 'SELECT' && ![...box.options].some((o) => o.value === said)) box.add(new Option(said, said));
        box.value = said;
      }
      known[key] = said;
      note(box, answer.wrong[key] || '', answer.read[key] || '');
    }
    document.body.dataset.stale = answer.stale ? 'yes' : 'no';
    document.title = document.getElementById('title').textContent;
    if (answer.scene) {
      stage.system = answer.view === 'inch' ? 1 : 0;
      stage.show(answer.scene, answer.rev);
    }
    if (!stage.viewer) plain(answer.rev);
    document.body.dataset.rev = String(answer.rev);
  }

  // Another stock list offers other skins and timbers.
  function choices(list, pairs) {
    const mark = JSON.stringify(pairs);
    if (list.dataset.offered === mark) return;
    list.dataset.offered = mark;
    const first = [...list.options].filter((o) => o.value === ''), now = list.value;
    list.replaceChildren(...first, ...pairs.map(([value, words]) => new Option(words, value)));
    list.value = now;
  }

  function plain(number) {
    const host = document.getElementById('stage-picture');
    let image = host.querySelector('img');
    if (!image) { image = document.createElement('img'); image.alt = 'the shelter, seen from front and right'; host.append(image); }
    image.src = 'picture.svg?r=' + number;
  }

  function note(box, wrong, read) {
    const row = document.getElementById('n-' + slug(box.name));
    const place = row.querySelector('.wrong'), back = row.querySelector('.read');
    const words = wrong ? '\u2717 ' + wrong : '';
    if (place.textContent !== words) place.textContent = words;
    if (back.textContent !== read) back.textContent = read;
    if (wrong) {
      box.setAttribute('aria-invalid', 'true');
      for (let up = row.closest('details'); up; up = up.parentElement.closest('details')) up.open = true;
    } else box.removeAttribute('aria-invalid');
  }

  // Only what differs from what the server holds is sent, so that two windows do not undo each other's work.
  document.body.addEventListener('htmx:configRequest', (event) => {
    const detail = event.detail;
    if (detail.elt !== form) return;
    const cause = detail.triggeringEvent;
    const changed = {};
    for (const box of boxes()) if (box.value !== known[box.name]) changed[box.name] = box.value;
    const names = Object.keys(changed);
    if (!names.length) { event.preventDefault(); return; }
    if (cause && cause.type === 'input') {
      const box = cause.target;
      if (box.tagName === 'SELECT' || names.length > 1 || changed[box.name] === '') { event.preventDefault(); return; }
      changed._live = '1';
    }
    for (const key of [...detail.parameters.keys()]) detail.parameters.delete(key);
    for (const key of Object.keys(changed)) detail.parameters.append(key, changed[key]);
  });

  document.body.addEventListener('htmx:afterRequest', (event) => {
    const status = event.detail.xhr ? event.detail.xhr.status : 0;
    if (status >= 400 || event.detail.failed && status === 0) {
      const words = status === 0 ? 'the program does not answer; was it stopped? Your last change is not in the brief' :
        status === 409 ? event.detail.xhr.responseText : 'the program did not take that (' + status + ')';
      tell(words);
    }
  });
  document.body.addEventListener('htmx:oobAfterSwap', (event) => { if (event.detail.target.id === 'answer') take(false); });
  document.body.addEventListener('htmx:afterSettle', () => take(false));
  document.body.addEventListener('htmx:oobAfterSwap', sources);

  function sources() {
    const script = document.getElementById('sources');
    if (!script || script.dataset.taken || !stage.data) return;
    script.dataset.taken = 'yes';
    const from = JSON.parse(script.textContent);
    for (const part of stage.data.parts) if (from[part.mark]) part.from = from[part.mark];
    stage.units(stage.system ? 'inch' : 'metric');
  }

  function tell(words) {
    const place = document.querySelector('#bar .said');
    if (place) place.textContent = words;
  }

  // Worked calculations, comparison and skins stand in one dialog.
  const why = document.getElementById('why');
  document.body.addEventListener('htmx:afterSwap', (event) => {
    if (event.detail.target.id === 'why-body' && !why.open) why.showModal();
  });
  document.body.addEventListener('htmx:afterRequest', (event) => {
    if (event.detail.successful && event.detail.elt.matches('#why form[hx-post=edit]')) why.close();
  });
  why.addEventListener('close', () => document.getElementById('why-body').replaceChildren());

  document.addEventListener('keydown', (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
    const key = event.key.toLowerCase();
    const typing = event.target.matches('input') && event.target.form === form && event.target.value !== known[event.target.name];
    const press = (post) => { const b = document.querySelector('#bar [hx-post="' + post + '"]'); if (b && !b.disabled) b.click(); };
    if (key === 's') { event.preventDefault(); press('save'); }
    else if (key === 'z' && !event.shiftKey && !typing) { event.preventDefault(); press('undo'); }
    else if ((key === 'y' || (key === 'z' && event.shiftKey)) && !typing) { event.preventDefault(); press('redo'); }
  });

  // A window that comes back to the front catches up with what another one did.
  function catchUp() {
    if (document.visibilityState === 'visible' && rev) window.htmx.ajax('GET', 'now?rev=' + rev, { source: document.body, swap: 'none' });
  }
  document.addEventListener('visibilitychange', catchUp);
  window.addEventListener('focus', catchUp);

  take(true);
})();
