import { render } from "preact";
import "./style/base.css";
import "./style/frame.css";
import "./style/timetable.css";
import "./style/today.css";
import "./style/kitchen.css";
import "./style/orders.css";
import "./style/cold-hot.css";
import "./style/what-if.css";
import "./style/balance.css";
import "./style/set-up.css";
import "./style/sheets.css";
import "./style/print.css";
import { App } from "./app.js";

render(<App />, document.getElementById("board")!);

// Where there is no secure context there is no service worker; the board then needs its server to be opened.
if ("serviceWorker" in navigator) navigator.serviceWorker.register("/sw.js").catch(() => undefined);
