"use strict";
const data = JSON.parse(document.getElementById("data").textContent);
