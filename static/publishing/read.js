// A time in the article moves the video there instead of opening the file.
document.addEventListener("click", (event) => {
  const link = event.target.closest("a[data-second]");
  const video = document.getElementById("video");
  if (!link || !video) return;
  event.preventDefault();
  video.currentTime = Number(link.dataset.second);
  video.scrollIntoView({ block: "nearest" });
  video.focus();
});
