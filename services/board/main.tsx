import { render } from "preact";
import "./style/base.css";
import "./style/frame.css";
import "./style/timetable.css";
import "./style/today.css";
import "./style/kitchen.css";
import "./style/orders.css";
import "./style/cold-hot.css";
import "./style/what-if.css";
import "./style/set-up.css";
import { App } from "./app.js";

render(<App />, document.getElementById("board")!);
