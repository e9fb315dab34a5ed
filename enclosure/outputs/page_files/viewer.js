// Draws a shelter from the plain data of enclosure/outputs/page_scene.py.
//
// The design has x to the right, y to the back and z up, in mm; the drawing has y up, in metres. Nothing is drawn
// until something changes: there is no running loop. Every finished drawing sets data-rev on the host element.
(function () {
  'use strict';
  const T = window.ThreeKit;
  const MM = 0.001;
  const SHOWN_WHOLE = 1, SHOWN_FAINT = 0.12;

  function point(x, y, z) { return new T.Vector3(x * MM, z * MM, -y * MM); }

  // One part's prisms as triangles with flat normals, and its edges.
  function geometryOf(solids) {
    const places = [], normals = [], edges = [];
    const tri = (a, b, c, n) => {
      for (const p of [a, b, c]) { places.push(p.x, p.y, p.z); normals.push(n.x, n.y, n.z); }
    };
    for (const s of solids) {
      const o = s.slice(0, 3), u = s.slice(3, 6), v = s.slice(6, 9), depth = s[9];
      const w = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
      const ring = [];
      for (let i = 10; i < s.length; i += 2) ring.push([s[i], s[i + 1]]);
      const at = (a, b, h) => point(
        o[0] + a * u[0] + b * v[0] + h * w[0], o[1] + a * u[1] + b * v[1] + h * w[1],
        o[2] + a * u[2] + b * v[2] + h * w[2]);
      const foot = ring.map(([a, b]) => at(a, b, 0)), top = ring.map(([a, b]) => at(a, b, depth));
      const up = point(w[0], w[1], w[2]).normalize(), down = up.clone().negate();
      for (let i = 1; i < ring.length - 1; i++) {
        tri(top[0], top[i], top[i + 1], up);
        tri(foot[0], foot[i + 1], foot[i], down);
      }
      for (let i = 0; i < ring.length; i++) {
        const j = (i + 1) % ring.length;
        const along = foot[j].clone().sub(foot[i]), n = along.cross(up).normalize();
        tri(foot[i], foot[j], top[j], n);
        tri(foot[i], top[j], top[i], n);
        for (const [a, b] of [[foot[i], foot[j]], [top[i], top[j]], [foot[i], top[i]]]) {
          edges.push(a.x, a.y, a.z, b.x, b.y, b.z);
        }
      }
    }
    const body = new T.BufferGeometry(), lines = new T.BufferGeometry();
    body.setAttribute('position', new T.BufferAttribute(new Float32Array(places), 3));
    body.setAttribute('normal', new T.BufferAttribute(new Float32Array(normals), 3));
    lines.setAttribute('position', new T.BufferAttribute(new Float32Array(edges), 3));
    body.computeBoundingBox();
    return { body, lines };
  }

  function boxGeometry(x, y, z, long, wide, high) {
    return geometryOf([[x, y, z, 1, 0, 0, 0, 1, 0, high, 0, 0, long, 0, long, wide, 0, wide]]);
  }

  // The plant is a simple shape: a trunk and a rounded head, so wide, so deep and so high.
  function plantGeometry(size) {
    const shape = [];
    const turns = 18;
    shape.push(new T.Vector2(0.0001, 0), new T.Vector2(0.13, 0), new T.Vector2(0.11, 0.22));
    for (let i = 0; i <= turns; i++) {
      const t = i / turns, a = -Math.PI / 2 + Math.PI * t;
      shape.push(new T.Vector2(Math.max(0.0001, 0.5 * Math.pow(Math.cos(a), 0.6)), 0.22 + 0.78 * (0.5 + 0.5 * Math.sin(a))));
    }
    const geometry = new T.LatheGeometry(shape, 28);
    geometry.scale(size[0] * MM, size[2] * MM, size[1] * MM);
    return geometry;
  }

  function numberSprite(words, ink, paper) {
    const canvas = document.createElement('canvas');
    canvas.width = canvas.height = 96;
    const pen = canvas.getContext('2d');
    pen.beginPath(); pen.arc(48, 48, 42, 0, 2 * Math.PI);
    pen.fillStyle = paper; pen.fill();
    pen.lineWidth = 5; pen.strokeStyle = ink; pen.stroke();
    pen.fillStyle = ink; pen.textAlign = 'center'; pen.textBaseline = 'middle';
    pen.font = 'bold ' + (words.length > 2 ? 34 : 46) + 'px sans-serif';
    pen.fillText(words, 48, 50);
    if (/^[69]+$/.test(words)) pen.fillRect(30, 72, 36, 4);
    const texture = new T.CanvasTexture(canvas);
    texture.colorSpace = T.SRGBColorSpace;
    const sprite = new T.Sprite(new T.SpriteMaterial({ map: texture, depthTest: false, transparent: true }));
    sprite.renderOrder = 10;
    sprite.raycast = function () {};
    return sprite;
  }

  class Viewer {
    // host: an element to fill. options.onPick(part or null), options.onStep(...)
    constructor(host, options) {
      this.host = host;
      this.options = options || {};
      this.renderer = new T.WebGLRenderer({
        antialias: true, alpha: true, preserveDrawingBuffer: host.hasAttribute('data-keep-picture'),
      });
      this.renderer.localClippingEnabled = true;
      this.canvas = this.renderer.domElement;
      this.canvas.tabIndex = 0;
      this.canvas.setAttribute('role', 'application');
      this.canvas.setAttribute('aria-label',
        'The shelter in three dimensions. Arrow keys turn it, plus and minus zoom, Home shows it whole.');
      host.appendChild(this.canvas);
      this.scene = new T.Scene();
      this.camera = new T.PerspectiveCamera(32, 1, 0.05, 200);
      this.controls = new T.OrbitControls(this.camera, this.canvas);
      this.controls.enableDamping = false;
      this.controls.maxPolarAngle = Math.PI * 0.52;
      this.controls.addEventListener('change', () => this.draw());
      this.scene.add(new T.HemisphereLight(0xffffff, 0xb9b2a4, 2.0));
      const sun = new T.DirectionalLight(0xffffff, 1.6);
      sun.position.set(-3, 6, 4);
      this.scene.add(sun);
      this.state = { explode: 0, step: -1, phase: 'raising', cut: false, winter: -1, numbers: false, picked: '' };
      this.cutPlane = new T.Plane(new T.Vector3(0, 0, -1), 0);
      this.shelter = null;
      this.data = null;
      this.entries = [];
      this._wirePointer();
      this._wireKeys();
      new ResizeObserver(() => this._fit()).observe(host);
      matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => this.data && this.show(this.data, this.rev));
      this._fit();
    }

    // Show a scene; the camera stays where it is unless this is the first or its size changed a lot.
    show(data, rev) {
      const before = this.data;
      this.data = data;
      this.rev = rev;
      if (this.shelter) { this.scene.remove(this.shelter); this._dispose(this.shelter); }
      const style = getComputedStyle(this.host);
      this.ink = style.getPropertyValue('--line').trim() || '#1d2a24';
      this.paper = style.getPropertyValue('--card').trim() || '#ffffff';
      this.mark = style.getPropertyValue('--mark').trim() || '#b3470b';
      this.shelter = new T.Group();
      this.entries = data.parts.map((part) => this._addPart(part));
      this._addGround(data);
      this._addPlant(data);
      this.scene.add(this.shelter);
      if (!before || this._reach(before) / this._reach(data) > 1.6 || this._reach(data) / this._reach(before) > 1.6) this.home();
      else this.controls.target.copy(this._middle(data));
      this._refresh();
    }

    _reach(data) { return Math.hypot(data.outside[0], data.outside[1], data.outside[2]) * MM; }
    _middle(data) { return point(data.outside[0] / 2, data.outside[1] / 2, data.outside[2] / 2); }

    _addPart(part) {
      const { body, lines } = geometryOf(part.solids);
      const [r, g, b, a] = this.data.materials[part.material].colour;
      const clear = a < 1;
      const material = new T.MeshLambertMaterial({
        color: new T.Color().setRGB(r, g, b, T.SRGBColorSpace), transparent: true, opacity: a, depthWrite: !clear,
        side: clear ? T.DoubleSide : T.FrontSide, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1,
      });
      const mesh = new T.Mesh(body, material);
      mesh.renderOrder = clear ? 2 : 0;
      const pen = new T.LineBasicMaterial({ color: this.ink, transparent: true, opacity: clear ? 0.55 : 0.8 });
      const edges = new T.LineSegments(lines, pen);
      edges.renderOrder = clear ? 3 : 1;
      edges.raycast = function () {};
      const group = new T.Group();
      group.add(mesh, edges);
      const centre = new T.Vector3();
      body.boundingBox.getCenter(centre);
      let sprite = null;
      if (part.kind === 'panel' || part.kind === 'film') {
        sprite = numberSprite(part.mark, '#14201a', '#fffdf6');
        const n = this.data.outward[part.face] || [0, 0, 1];
        sprite.position.copy(centre).add(point(n[0] * 30, n[1] * 30, n[2] * 30));
        const large = Math.min(0.3, Math.max(0.13, this._reach(this.data) * 0.055));
        sprite.scale.set(large, large, 1);
        group.add(sprite);
      }
      this.shelter.add(group);
      const entry = { part, group, mesh, edges, sprite, material, pen, opacity: a, faint: pen.opacity, clear };
      mesh.userData.entry = entry;
      return entry;
    }

    _plain(geometry, colour, opacity) {
      const material = new T.MeshLambertMaterial({ color: colour, transparent: opacity < 1, opacity });
      const mesh = new T.Mesh(geometry, material);
      mesh.raycast = function () {};
      this.shelter.add(mesh);
      return mesh;
    }

    _addGround(data) {
      this.ground = [];
      const ring = data.ring, low = ring ? -ring.height : 0;
      if (ring) {
        const { x, y, length, width, thick, height } = ring;
        const runs = [
          [x, y, length, thick], [x, y + width - thick, length, thick],
          [x, y + thick, thick, width - 2 * thick], [x + length - thick, y + thick, thick, width - 2 * thick],
        ];
        for (const [bx, by, long, wide] of runs) {
          const { body, lines } = boxGeometry(bx, by, -height, long, wide, height);
          const mesh = this._plain(body, '#a4674f', 1);
          const edges = new T.LineSegments(lines, new T.LineBasicMaterial({ color: this.ink, transparent: true, opacity: 0.7 }));
          edges.raycast = function () {};
          this.shelter.add(edges);
          this.ground.push(mesh, edges);
        }
      }
      for (const post of data.posts) {
        const high = (post.top - post.bottom) * MM;
        const mesh = this._plain(new T.CylinderGeometry(0.018, 0.018, high, 8), '#4d5a54', 1);
        mesh.position.copy(point(post.x, post.y, (post.top + post.bottom) / 2));
        this.ground.push(mesh);
        const ends = [];
        for (const [x, y, z] of post.wires) {
          const a = point(x, y, z), b = point(post.x, post.y, Math.min(z, post.top - 30));
          ends.push(a.x, a.y, a.z, b.x, b.y, b.z);
        }
        const lines = new T.BufferGeometry();
        lines.setAttribute('position', new T.BufferAttribute(new Float32Array(ends), 3));
        const wires = new T.LineSegments(lines, new T.LineBasicMaterial({ color: '#4d5a54' }));
        wires.raycast = function () {};
        this.shelter.add(wires);
        this.ground.push(wires);
      }
      const wide = Math.max(data.outside[0], data.outside[1]) * MM * 2.4;
      const earth = this._plain(new T.PlaneGeometry(wide, wide), '#8d9a78', 0.55);
      earth.rotation.x = -Math.PI / 2;
      earth.position.copy(point(data.outside[0] / 2, data.outside[1] / 2, low - 2));
      earth.material.depthWrite = false;
      earth.renderOrder = 1.5; // after what is buried, so that it looks buried; before the glazing
    }

    _addPlant(data) {
      const plant = data.plant;
      const leaf = new T.MeshLambertMaterial({ color: '#3f7d45', side: T.DoubleSide });
      this.plantNow = new T.Mesh(plantGeometry(plant.sizes[0].size), leaf);
      const later = new T.MeshLambertMaterial({
        color: '#c98a1b', transparent: true, opacity: 0.38, depthWrite: false, side: T.DoubleSide,
      });
      this.plantLater = new T.Mesh(new T.BufferGeometry(), later);
      this.plantLater.renderOrder = 4;
      for (const mesh of [this.plantNow, this.plantLater]) {
        mesh.position.copy(point(plant.x, plant.y, plant.z));
        mesh.raycast = function () {};
        this.shelter.add(mesh);
      }
      this.plantSize = -1;
    }

    // --- what the controls change ---------------------------------------------------

    set(change) {
      if (change.explode !== undefined && this.data) this.zoom((1 + change.explode) / (1 + this.state.explode));
      Object.assign(this.state, change);
      if (this.data) this._refresh();
    }

    pick(mark) {
      const entry = this.entries.find((e) => e.part.mark === mark);
      this.state.picked = entry ? mark : '';
      if (this.data) this._refresh();
      if (this.options.onPick) this.options.onPick(entry ? entry.part : null);
    }

    steps() { return this.data ? this.data.steps[this.state.phase] : []; }

    // Parts standing after a step of a phase. Parts that no step of raising brings stand from the beginning.
    _standing() {
      const { phase, step } = this.state;
      if (step < 0) return null;
      const steps = this.steps();
      const all = new Set(steps.flatMap((s) => s.parts));
      const done = new Set(steps.slice(0, step + 1).flatMap((s) => s.parts));
      const now = new Set(steps[step] ? steps[step].parts : []);
      const takes = phase === 'take-down';
      return (mark) => {
        if (now.has(mark)) return 'now';
        if (!all.has(mark)) return 'there';
        return done.has(mark) !== takes ? 'there' : 'away';
      };
    }

    _refresh() {
      const { explode, cut, winter, numbers, picked } = this.state;
      const standing = this._standing();
      const planes = cut ? [this.cutPlane] : [];
      const middle = this._middle(this.data);
      this.cutPlane.constant = middle.z;
      const far = explode * this._reach(this.data) * 0.45;
      for (const e of this.entries) {
        const how = standing ? standing(e.part.mark) : 'there';
        const n = this.data.outward[e.part.face] || [0, 0, 0];
        const outer = e.part.kind === 'panel' || e.part.kind === 'film' ? 1.35 : e.part.kind === 'track' ? 1.15 : 1;
        const away = e.part.face === 'BASE' ? 0 : far * outer;
        e.group.position.copy(point(n[0], n[1], n[2]).multiplyScalar(away / MM));
        e.group.visible = how !== 'away';
        const strong = how === 'now' || e.part.mark === picked;
        e.pen.color.set(strong ? this.mark : this.ink);
        e.pen.opacity = strong ? 1 : e.faint;
        const dim = standing && how === 'there';
        e.material.opacity = strong ? Math.max(e.opacity, 0.7) : dim ? e.opacity * 0.55 : e.opacity;
        e.material.emissive.set(strong ? this.mark : '#000000');
        e.material.emissiveIntensity = strong ? 0.35 : 0;
        e.material.clippingPlanes = planes;
        e.pen.clippingPlanes = planes;
        if (e.sprite) {
          e.sprite.visible = numbers || how === 'now' || e.part.mark === picked;
          e.sprite.material.clippingPlanes = planes;
        }
      }
      for (const thing of this.ground) thing.material.clippingPlanes = planes;
      this._refreshPlant(winter);
      this.draw();
    }

    _refreshPlant(winter) {
      const plant = this.data.plant, sizes = plant.sizes;
      this.plantNow.visible = winter >= 0 || this.state.step >= 0;
      this.plantLater.visible = winter > 0;
      if (winter > 0 && this.plantSize !== winter) {
        this.plantLater.geometry.dispose();
        this.plantLater.geometry = plantGeometry(sizes[Math.min(winter, sizes.length - 1)].size);
        this.plantSize = winter;
      }
    }

    home() { this.look(-0.62, 0.36); }

    // Look from a bearing [rad, 0 = from the front, positive = from the right] and a height angle.
    look(around, up) {
      const middle = this._middle(this.data), far = this._reach(this.data) * 1.05 / Math.tan(this.camera.fov * Math.PI / 360);
      const wide = Math.max(1, 1.15 / Math.max(this.camera.aspect, 0.3));
      this.controls.target.copy(middle);
      const r = far * 0.56 * wide;
      this.camera.position.set(
        middle.x + r * Math.cos(up) * Math.sin(-around), middle.y + r * Math.sin(up), middle.z + r * Math.cos(up) * Math.cos(around));
      this.controls.update();
      this.draw();
    }

    turn(around, up) {
      const away = this.camera.position.clone().sub(this.controls.target);
      const r = away.length();
      const angle = Math.atan2(away.x, away.z) + around;
      const high = Math.min(1.5, Math.max(-0.05, Math.asin(away.y / r) + up));
      this.camera.position.copy(this.controls.target).add(
        new T.Vector3(r * Math.cos(high) * Math.sin(angle), r * Math.sin(high), r * Math.cos(high) * Math.cos(angle)));
      this.controls.update();
      this.draw();
    }

    zoom(factor) {
      const away = this.camera.position.clone().sub(this.controls.target).multiplyScalar(factor);
      const reach = this._reach(this.data);
      away.clampLength(reach * 0.4, reach * 9);
      this.camera.position.copy(this.controls.target).add(away);
      this.controls.update();
      this.draw();
    }

    draw() {
      if (this.waiting) return;
      this.waiting = true;
      requestAnimationFrame(() => {
        this.waiting = false;
        this.renderer.render(this.scene, this.camera);
        this.host.dataset.rev = String(this.rev);
        this.host.dataset.drawn = String(Number(this.host.dataset.drawn || 0) + 1);
      });
    }

    // --- hands ------------------------------------------------------------------------

    _wirePointer() {
      let start = null;
      this.canvas.addEventListener('pointerdown', (event) => { start = [event.clientX, event.clientY]; });
      this.canvas.addEventListener('pointerup', (event) => {
        if (!start || Math.hypot(event.clientX - start[0], event.clientY - start[1]) > 5) return;
        this.pick(this._markAt(event.clientX, event.clientY));
      });
    }

    _markAt(clientX, clientY) {
      const box = this.canvas.getBoundingClientRect();
      const at = new T.Vector2(((clientX - box.left) / box.width) * 2 - 1, 1 - ((clientY - box.top) / box.height) * 2);
      const ray = new T.Raycaster();
      ray.setFromCamera(at, this.camera);
      const hits = ray.intersectObjects(this.entries.filter((e) => e.group.visible).map((e) => e.mesh), false)
        .filter((hit) => !this.state.cut || this.cutPlane.distanceToPoint(hit.point) >= 0);
      return hits.length ? hits[0].object.userData.entry.part.mark : '';
    }

    _wireKeys() {
      const turns = { ArrowLeft: [-0.15, 0], ArrowRight: [0.15, 0], ArrowUp: [0, 0.1], ArrowDown: [0, -0.1] };
      this.canvas.addEventListener('keydown', (event) => {
        if (event.ctrlKey || event.metaKey || event.altKey || !this.data) return;
        if (turns[event.key]) this.turn(...turns[event.key]);
        else if (event.key === '+' || event.key === '=') this.zoom(0.85);
        else if (event.key === '-') this.zoom(1.18);
        else if (event.key === 'Home') this.home();
        else if (event.key === 'Escape') this.pick('');
        else return;
        event.preventDefault();
      });
    }

    _fit() {
      const wide = Math.max(1, this.host.clientWidth), high = Math.max(1, this.host.clientHeight);
      this.renderer.setPixelRatio(Math.min(devicePixelRatio || 1, 2));
      this.renderer.setSize(wide, high, false);
      this.camera.aspect = wide / high;
      this.camera.updateProjectionMatrix();
      if (this.data) this.draw();
    }

    _dispose(thing) {
      thing.traverse((item) => {
        if (item.geometry) item.geometry.dispose();
        if (item.material) { if (item.material.map) item.material.map.dispose(); item.material.dispose(); }
      });
    }
  }

  window.ShelterViewer = Viewer;
})();
