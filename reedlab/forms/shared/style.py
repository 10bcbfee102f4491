"""How every form looks: one sheet, put beside the form so that it also works outside JupyterLab."""

from __future__ import annotations

from typing import Final

__all__ = ["STYLE"]

STYLE: Final = r"""<style>
.reedlab { font-size: 16px; line-height: 1.45; max-width: min(58rem, 100%); overflow: visible; }
.reedlab .jupyter-widgets, .reedlab .widget-html-content { font-size: 16px; line-height: 1.45; }
.reedlab .jupyter-widgets.widget-inline-hbox { flex-direction: column; align-items: stretch; height: auto;
  width: auto; max-width: 30rem; margin: 4px 2px 8px 2px; }
.reedlab .jupyter-widgets.widget-inline-hbox.widget-html { max-width: none; margin: 2px; }
.reedlab .widget-html, .reedlab .widget-html-content { height: auto; width: auto; }
.reedlab .widget-html > .widget-label:empty { display: none; }
.reedlab .widget-label, .reedlab .jupyter-widgets.widget-inline-hbox > label {
  width: auto; max-width: none; height: auto; min-height: 0; text-align: left; white-space: normal;
  overflow: visible; text-overflow: clip; font-weight: 600; margin: 0 0 3px 0; line-height: 1.35;
  font-size: 15px; }
.reedlab input[type=text], .reedlab input[type=date], .reedlab select {
  height: 44px; flex: none; min-width: 12rem; font-size: 16px; padding: 6px 10px; width: 100%;
  box-sizing: border-box; border: 1px solid #767676; border-radius: 4px; }
.reedlab .jupyter-button { min-height: 44px; height: auto; width: auto; min-width: 44px; font-size: 16px;
  line-height: 1.25; padding: 8px 14px; border: 1px solid #767676; border-radius: 4px; white-space: normal;
  overflow: visible; text-overflow: clip; background: #ffffff; color: #1a1a1a; margin: 3px 4px 3px 0; }
.reedlab .jupyter-widgets.widget-inline-hbox.reedlab-wide { flex: 1 1 24rem; max-width: 44rem; }
.reedlab .widget-vbox > .jupyter-widgets.widget-inline-hbox.reedlab-wide { flex: none; }
.reedlab > .jupyter-button, .reedlab .widget-vbox > .jupyter-button { align-self: flex-start; }
.reedlab .jupyter-button:hover { background: #eef4f9; }
.reedlab .jupyter-button:focus-visible, .reedlab input:focus-visible, .reedlab select:focus-visible {
  outline: 3px solid #1a1a1a; outline-offset: 2px; }
.reedlab .jupyter-button.mod-active { background: #005a94; color: #ffffff; border-color: #005a94;
  box-shadow: none; font-weight: 700; }
.reedlab .jupyter-button.mod-active::before { content: "\2713\00a0"; }
.reedlab .jupyter-button.reedlab-fold, .reedlab .jupyter-button.reedlab-fold.mod-active { background: #ffffff;
  color: #005a94; border-color: transparent; font-weight: 600; padding-left: 2px; }
.reedlab .jupyter-button.reedlab-fold::before { content: "\25B8\00a0"; }
.reedlab .jupyter-button.reedlab-fold.mod-active::before { content: "\25BE\00a0"; }
.reedlab .jupyter-button.mod-primary { background: #005a94; color: #ffffff; font-weight: 600;
  padding: 8px 22px; border-color: #005a94; }
.reedlab .jupyter-button:disabled { opacity: 0.55; }
.reedlab .widget-toggle-buttons { max-width: none; }
.reedlab .jupyter-widgets.widget-inline-hbox.widget-toggle-buttons { max-width: none; }
.reedlab .widget-toggle-buttons .jupyter-button { white-space: pre-line; }
.reedlab .reedlab-rating .widget-toggle-buttons > div:last-child,
.reedlab .reedlab-rating .widget-toggle-buttons > .widget-toggle-buttons-container {
  display: flex; flex-wrap: wrap; }
.reedlab .reedlab-rating .widget-toggle-buttons .jupyter-button { flex: 1 1 4.2rem; min-height: 64px; margin: 2px;
  padding: 4px 3px; font-size: 15px; max-width: 6.4rem; }
.reedlab .jupyter-widgets.widget-checkbox { height: auto; min-height: 44px; width: auto; max-width: none; }
.reedlab .jupyter-widgets.widget-checkbox label, .reedlab .widget-checkbox .widget-label-basic {
  min-height: 44px; display: flex; align-items: center; gap: 10px; font-weight: 400; margin: 0;
  font-size: 16px;  white-space: normal; line-height: 1.35; }
.reedlab .widget-checkbox input[type=checkbox] { width: 24px; height: 24px; flex: none; margin: 0; }
.reedlab .widget-box, .reedlab .jupyter-widgets.widget-box { overflow: visible; }
.reedlab .widget-hbox { flex-wrap: wrap; column-gap: 14px; }
.reedlab-good, .reedlab-bad, .reedlab-ask, .reedlab-tell { border-left: 6px solid; padding: 8px 14px;
  margin: 6px 0; border-radius: 2px; color: #1a1a1a; }
.reedlab-good { border-color: #1b7837; background: #eef7f0; }
.reedlab-bad { border-color: #a50f15; background: #fdf0ee; }
.reedlab-ask { border-color: #8a5a00; background: #fdf6e6; }
.reedlab-tell { border-color: #005a94; background: #eef4f9; }
.reedlab-bad ul, .reedlab-ask ul { margin: 4px 0 0 0; padding-left: 1.3em; }
.reedlab table.reedlab-table { border-collapse: collapse; margin: 8px 0; font-size: 15px; }
.reedlab-table th, .reedlab-table td { border: 1px solid #b5b5b5; padding: 6px 10px; text-align: left;
  vertical-align: top; }
.reedlab-table th { background: #f0f0f0; color: #1a1a1a; }
.reedlab-quiet { color: #555555; }
.reedlab a { color: #005a94; text-decoration: underline; }
.reedlab h2 { font-size: 1.35rem; margin: 14px 0 4px 0; } .reedlab h3 { font-size: 1.1rem; margin: 12px 0 2px 0; }
.reedlab p { margin: 4px 0 6px 0; }
.reedlab summary { min-height: 44px; line-height: 44px; cursor: pointer; color: #005a94; font-weight: 600; }
.reedlab progress { width: 100%; max-width: 24rem; height: 14px; accent-color: #005a94; display: block; }
.reedlab.reedlab-day { max-width: min(68rem, 100%); }
.reedlab .reedlab-day-head { font-size: 1.1rem; margin: 0 0 4px 0; }
.reedlab .reedlab-line { align-items: center; justify-content: space-between; min-height: 52px; column-gap: 10px;
  border-top: 1px solid #c9c9c9; }
.reedlab .jupyter-widgets.widget-inline-hbox.widget-html.reedlab-line-head { flex: 1 1 15rem; margin: 0; }
.reedlab-reed { display: flex; align-items: center; column-gap: 10px; }
.reedlab-reed b { font-size: 17px; white-space: nowrap; font-variant-numeric: tabular-nums; }
.reedlab-reed .reedlab-way { flex: 1 1 6rem; line-height: 1.25; }
.reedlab-reed .reedlab-quiet, .reedlab-state { white-space: nowrap; }
.reedlab-state { color: #1b7837; font-weight: 700; }
.reedlab-sign { width: 13px; height: 13px; flex: none; fill: #d55e00; display: inline-block; }
.reedlab-sign circle { stroke: #0072b2; }
.reedlab-legend { font-size: 15px; border-top: 1px solid #c9c9c9; padding-top: 6px; }
.reedlab .reedlab-line .widget-hbox { column-gap: 2px; align-items: center; }
.reedlab .reedlab-line .jupyter-widgets.widget-inline-hbox { margin: 0; }
.reedlab .reedlab-line .reedlab-rating { flex-direction: row; align-items: center; }
.reedlab .reedlab-line .reedlab-rating .widget-hbox { flex-wrap: nowrap; }
.reedlab .reedlab-line .reedlab-rating .widget-toggle-buttons > .widget-label,
.reedlab .reedlab-line .widget-text > label,
.reedlab .reedlab-choice > .widget-label { position: absolute; left: 0; opacity: 0; pointer-events: none;
  white-space: nowrap; }
.reedlab .reedlab-line .reedlab-rating .widget-toggle-buttons .jupyter-button,
.reedlab .reedlab-line .reedlab-rating .jupyter-button {
  flex: none; min-height: 44px; min-width: 40px; width: 40px; margin: 1px; padding: 4px 0; font-size: 16px; }
.reedlab .reedlab-line .reedlab-rating .widget-toggle-buttons > div:last-child { flex-wrap: nowrap; }
.reedlab .reedlab-line .reedlab-rating .jupyter-button.mod-active::before { content: none; }
.reedlab .reedlab-line input[type=text] { min-width: 0; width: 5rem; }
.reedlab .reedlab-line .jupyter-button.mod-primary { padding: 8px 14px; align-self: center; }
.reedlab .reedlab-choice .jupyter-button { min-height: 44px; }
.reedlab a.reedlab-go { display: inline-block; min-height: 44px; line-height: 28px; padding: 8px 24px; margin: 8px 0;
  box-sizing: border-box; border-radius: 4px; background: #005a94; color: #ffffff; font-weight: 600;
  text-decoration: none; }
.reedlab .reedlab-answer { font-size: 1.15rem; }
.reedlab ol { margin: 4px 0; padding-left: 1.5em; } .reedlab ol li { margin: 4px 0; }
@media (max-width: 600px) {
  .reedlab .reedlab-line .reedlab-rating,
  .reedlab .reedlab-line .reedlab-rating .widget-toggle-buttons > div:last-child {
    flex-wrap: wrap; }
  .reedlab-cards thead { display: none; }
  .reedlab table.reedlab-cards { display: block; }
  .reedlab-cards tbody, .reedlab-cards tr { display: block; }
  .reedlab-cards tr { border: 1px solid #b5b5b5; border-radius: 4px; margin: 0 0 8px 0; padding: 4px 10px; }
  .reedlab .reedlab-cards td { display: flex; justify-content: space-between; gap: 14px; border: 0; padding: 3px 0;
    text-align: right; overflow-wrap: anywhere; }
  .reedlab .reedlab-rating .widget-toggle-buttons .jupyter-button { flex: 1 1 22%; max-width: 32%; }
  .reedlab-cards td::before { content: attr(data-label); color: #555555; text-align: left; }
  .reedlab .reedlab-cards td:first-child { font-weight: 700; font-size: 17px; }
  .reedlab-cards td:empty { display: none; }
  .reedlab .jupyter-button.mod-primary { align-self: stretch; }
  .reedlab .widget-hbox > .widget-inline-hbox { flex: 1 1 100%; max-width: none; }
}
</style>"""
