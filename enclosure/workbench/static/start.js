// Reads the chosen file in the browser and sends its text; the program never opens a path that a page names.
(function () {
  'use strict';
  const file = document.getElementById('open-file');
  file.addEventListener('change', async () => {
    if (!file.files.length) return;
    document.getElementById('open-name').value = file.files[0].name;
    document.getElementById('open-text').value = (await file.files[0].slice(0, 900000).text()).replace(/\r\n/g, '\n');
    document.getElementById('open-form').submit();
  });
})();
