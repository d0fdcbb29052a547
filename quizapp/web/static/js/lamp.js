/* Changes the lamp in place. Without scripts the same form is posted and the server answers with the cookie. */
(function () {
  "use strict";
  document.addEventListener("click", function (event) {
    var lamp = event.target.closest("[data-lamp-switch]");
    if (!lamp) return;
    event.preventDefault();
    var secure = location.protocol === "https:" ? "; Secure" : "";
    document.cookie = "lamp=" + lamp.value + "; Path=/; Max-Age=31536000; SameSite=Lax" + secure;
    document.documentElement.dataset.lamp = lamp.value;
    var shown = document.querySelector('[data-lamp-switch][value="' + (lamp.value === "night" ? "day" : "night") + '"]');
    if (shown) shown.focus();
  });
})();
