// An answer that could not be made, in a tab that a form opened for it: the form says why.
"use strict";
if (window.opener && window.opener.takeProblem) {
  window.opener.takeProblem(document.getElementById("message").textContent);
  window.close();
}
