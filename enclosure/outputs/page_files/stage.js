// Joins the controls of stage.html to the drawing of viewer.js.
(function () {
  'use strict';
  const PAUSE = 1800;
  const by = (id) => document.getElementById(id);

  class Stage {
    constructor() {
      this.system = 0; // 0: mm and kg, 1: inches and pounds
      this.timer = 0;
      this.data = null;
      try {
        this.viewer = new window.ShelterViewer(by('stage-picture'), { onPick: (part) => this._tell(part) });
      } catch (error) {
        this.viewer = null;
        by('stage-none').hidden = false;
        document.querySelector('.stage-hands').hidden = true;
      }
      if (this.viewer) this._wire();
    }

    show(data, rev) {
      this.data = data;
      if (!this.viewer) { by('stage-picture').dataset.rev = String(rev); return; }
      this._lists();
      const count = data.steps[this.viewer.state.phase].length;
      if (this.viewer.state.step >= count) this.viewer.state.step = count - 1;
      this.viewer.show(data, rev);
      const mark = this.viewer.state.picked;
      const part = data.parts.find((p) => p.mark === mark);
      if (mark && !part) this.viewer.pick(''); else if (part) this._tell(part);
      this._tellStep();
    }

    units(system) {
      this.system = system === 'inch' ? 1 : 0;
      if (!this.data || !this.viewer) return;
      this._lists();
      this._tellStep();
      this._tell(this.data.parts.find((p) => p.mark === this.viewer.state.picked) || null);
    }

    _fill(list, rows, keep) {
      const before = keep === undefined ? list.value : keep;
      list.replaceChildren(...rows.map(([value, words]) => new Option(words, value)));
      list.value = rows.some(([value]) => value === before) ? before : rows[0][0];
    }

    _lists() {
      const plant = this.data.plant;
      const rows = [['-1', 'not shown'], ['0', 'today: ' + plant.sizes[0].words[this.system]]];
      for (let w = 1; w < plant.sizes.length; w++) {
        const late = w > plant.winters ? ' (beyond)' : '';
        rows.push([String(w), 'winter ' + w + late + ': ' + plant.sizes[w].words[this.system]]);
      }
      this._fill(by('stage-winter'), rows);
      const parts = [['', 'none']];
      for (const p of this.data.parts) {
        if (p.kind === 'panel' || p.kind === 'film') parts.push([p.mark, 'panel ' + p.mark + ', ' + p.address]);
      }
      for (const p of this.data.parts) {
        if (p.kind !== 'panel' && p.kind !== 'film') parts.push([p.mark, p.mark + ', ' + p.role + ', ' + p.address]);
      }
      this._fill(by('stage-part'), parts, this.viewer ? this.viewer.state.picked : '');
    }

    _wire() {
      const viewer = this.viewer;
      for (const button of document.querySelectorAll('[data-look]')) {
        button.addEventListener('click', () => viewer.data && viewer.look(...button.dataset.look.split(',').map(Number)));
      }
      for (const button of document.querySelectorAll('[data-zoom]')) {
        button.addEventListener('click', () => viewer.data && viewer.zoom(Number(button.dataset.zoom)));
      }
      by('stage-numbers').addEventListener('change', (e) => viewer.set({ numbers: e.target.checked }));
      by('stage-cut').addEventListener('change', (e) => {
        viewer.set({ cut: e.target.checked });
        if (e.target.checked && by('stage-winter').value === '-1') { by('stage-winter').value = '0'; viewer.set({ winter: 0 }); }
      });
      by('stage-explode').addEventListener('input', (e) => viewer.set({ explode: Number(e.target.value) / 100 }));
      by('stage-winter').addEventListener('change', (e) => viewer.set({ winter: Number(e.target.value) }));
      by('stage-part').addEventListener('change', (e) => viewer.pick(e.target.value));
      by('stage-phase').addEventListener('change', (e) => { this._stop(); viewer.set({ phase: e.target.value }); this._go(viewer.state.step < 0 ? -1 : 0); });
      by('stage-back').addEventListener('click', () => { this._stop(); this._go(viewer.state.step - 1); });
      by('stage-next').addEventListener('click', () => { this._stop(); this._go(viewer.state.step + 1); });
      by('stage-whole').addEventListener('click', () => { this._stop(); this._go(-1); });
      by('stage-play').addEventListener('click', () => (this.timer ? this._stop() : this._play()));
    }

    _go(step) {
      const count = this.viewer.steps().length;
      this.viewer.set({ step: Math.max(-1, Math.min(step, count - 1)) });
      this._tellStep();
    }

    _play() {
      const last = this.viewer.steps().length - 1;
      if (this.viewer.state.step >= last) this.viewer.state.step = -1;
      by('stage-play').textContent = 'Pause';
      const on = () => {
        if (this.viewer.state.step >= this.viewer.steps().length - 1) { this._stop(); return; }
        this._go(this.viewer.state.step + 1);
        this.timer = setTimeout(on, PAUSE);
      };
      this.timer = 1;
      on();
    }

    _stop() {
      clearTimeout(this.timer);
      this.timer = 0;
      by('stage-play').textContent = 'Play';
    }

    _row(list, head, words) {
      if (!words) return;
      const dt = document.createElement('dt'), dd = document.createElement('dd');
      dt.textContent = head;
      dd.textContent = words;
      list.append(dt, dd);
    }

    _tell(part) {
      const box = by('stage-picked');
      by('stage-part').value = part ? part.mark : '';
      box.replaceChildren();
      if (!part) return;
      const panel = part.kind === 'panel' || part.kind === 'film';
      const head = document.createElement('strong');
      head.textContent = (panel ? 'Panel ' : '') + part.mark;
      const list = document.createElement('dl');
      if (!panel) this._row(list, 'part', part.role);
      this._row(list, 'place', part.address);
      this._row(list, 'size', part.size[this.system]);
      this._row(list, 'of', this.data.materials[part.material].name);
      this._row(list, 'cut from', part.from || '');
      this._row(list, 'mass', part.mass[this.system]);
      for (const [phase, name] of [['first build', 'first build'], ['raising', 'each autumn']]) {
        const steps = this.data.steps[phase], number = steps.findIndex((s) => s.parts.includes(part.mark));
        if (number >= 0) this._row(list, name, 'step ' + (number + 1) + ': ' + steps[number].title);
      }
      this._row(list, 'note', part.note || '');
      box.append(head, list);
    }

    _tellStep() {
      const box = by('stage-step'), steps = this.viewer.steps(), number = this.viewer.state.step;
      box.replaceChildren();
      if (number < 0 || !steps[number]) {
        box.textContent = steps.length + ' steps, about ' + steps.reduce((sum, s) => sum + s.minutes, 0) + ' minutes';
        return;
      }
      const s = steps[number];
      const head = document.createElement('strong');
      head.textContent = number + 1 + ' of ' + steps.length + ': ' + s.title;
      const text = document.createElement('p');
      text.textContent = s.text;
      const foot = document.createElement('p');
      const facts = [s.people + (s.people === 1 ? ' person' : ' people'), 'about ' + s.minutes + ' minutes'];
      if (s.mass) facts.push('heaviest lift ' + s.mass[this.system]);
      if (s.tools.length) facts.push(s.tools.join(', '));
      foot.textContent = facts.join(' \u00b7 ');
      box.append(head, text, foot);
      for (const words of s.cautions) {
        const care = document.createElement('p');
        care.className = 'stage-care';
        care.textContent = 'Take care: ' + words;
        box.append(care);
      }
    }
  }

  window.ShelterStage = Stage;
})();
