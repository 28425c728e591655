import { render } from "preact";
import "./style/base.css";
import "./style/frame.css";
import "./style/timetable.css";
import "./style/today.css";
import { App } from "./app.js";

render(<App />, document.getElementById("board")!);
