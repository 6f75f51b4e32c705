"use strict";
// Nothing here is needed: rows are added and taken out by the page too. Here it is done in place, links stay
// short, a file that is too long is told before it is sent, and a card prints at a press.
(function () {
  document.querySelectorAll("form[data-short]").forEach(function (form) {
    form.addEventListener("formdata", function (sent) {
      Array.from(sent.formData.entries()).forEach(function (pair) {
        if (pair[1] === "") { sent.formData.delete(pair[0]); }
      });
    });
  });

  document.querySelectorAll("[data-print]").forEach(function (button) {
    button.hidden = false;
    button.addEventListener("click", function () { window.print(); });
  });

  document.querySelectorAll("textarea[name=paste]").forEach(function (area) {
    area.addEventListener("input", function () {
      var long = new TextEncoder().encode(area.value).length > 8192;
      area.setCustomValidity(long ? "This is more than 8,192 bytes, and a link that lasts holds no more." : "");
    });
  });

  document.querySelectorAll("[data-rows]").forEach(function (rows) {
    var kind = rows.getAttribute("data-rows"), form = rows.closest("form");
    var inName = new RegExp("(^|[ #])" + kind + "_[0-9]+_", "g");

    function all() { return Array.from(rows.querySelectorAll("[data-row]")); }

    function number(row, n) {
      row.querySelectorAll("*").forEach(function (part) {
        ["id", "name", "for", "list", "aria-describedby"].forEach(function (key) {
          var said = part.getAttribute(key);
          if (said) { part.setAttribute(key, said.replace(inName, "$1" + kind + "_" + n + "_")); }
        });
      });
      row.querySelectorAll("legend, summary, button").forEach(function (part) {
        part.textContent = part.textContent.replace(/[0-9]+/, String(n));
      });
      var out = row.querySelector("button[name^=remove_]");
      if (out) { out.name = "remove_" + n; }
    }

    function blank(row) {
      row.querySelectorAll(".fault, .meant").forEach(function (told) { told.remove(); });
      row.querySelectorAll("input, select").forEach(function (field) {
        field.removeAttribute("aria-invalid");
        field.removeAttribute("aria-describedby");
        field.removeAttribute("value");
        if (field.type === "checkbox") {
          field.removeAttribute("checked");
          field.checked = false;
          field.value = "1";
        } else {
          field.value = "";
        }
      });
      row.querySelectorAll("option[selected]").forEach(function (option) { option.removeAttribute("selected"); });
      row.querySelectorAll("details").forEach(function (part) { part.open = false; });
      row.querySelectorAll("summary").forEach(function (part) {
        part.textContent = part.textContent.replace(/ \(.*$/, "");
      });
    }

    function first(row) { return row.querySelector("input"); }

    function more() {
      var last = all().pop(), row = last.cloneNode(true);
      blank(row);
      number(row, all().length + 1);
      last.after(row);
      first(row).focus();
    }

    function less(button) {
      var row = button.closest("[data-row]"), next = row.nextElementSibling || row.previousElementSibling;
      row.remove();
      all().forEach(function (one, at) { number(one, at + 1); });
      first(next).focus();
    }

    // what is said of a ply elsewhere in the form moves with it: the page does that
    function saidElsewhere() {
      return Array.from(form.elements).some(function (field) {
        return /^(line|leaf)_/.test(field.name) && field.value !== "";
      });
    }

    form.addEventListener("click", function (event) {
      var button = event.target.closest("button");
      if (!button) { return; }
      if (button.name === "add" && all().length < 60) {
        event.preventDefault();
        more();
      } else if (/^remove_/.test(button.name) && all().length > 1 && !saidElsewhere()) {
        event.preventDefault();
        less(button);
      }
    });
  });
}());
