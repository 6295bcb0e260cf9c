package android.view;

/** As much of a view as the activity touches; the window lays it out and tells it the insets. */
public class View {
    public interface OnApplyWindowInsetsListener {
        WindowInsets onApplyWindowInsets(View v, WindowInsets insets);
    }

    public static final int SYSTEM_UI_FLAG_LIGHT_STATUS_BAR = 8192;
    public static final int SYSTEM_UI_FLAG_LIGHT_NAVIGATION_BAR = 16;

    public int background, visibility;
    public int[] padding = {0, 0, 0, 0};
    public OnApplyWindowInsetsListener listener;
    public int width, height;

    public void setOnApplyWindowInsetsListener(OnApplyWindowInsetsListener listener) {
        this.listener = listener;
    }

    public void requestApplyInsets() {}

    public void setPadding(int left, int top, int right, int bottom) {
        padding = new int[] {left, top, right, bottom};
    }

    public int getPaddingLeft() {
        return padding[0];
    }

    public int getPaddingTop() {
        return padding[1];
    }

    public int getPaddingRight() {
        return padding[2];
    }

    public int getPaddingBottom() {
        return padding[3];
    }

    public void setBackgroundColor(int color) {
        background = color;
    }

    public int getSystemUiVisibility() {
        return visibility;
    }

    public void setSystemUiVisibility(int visibility) {
        this.visibility = visibility;
    }

    public final int getWidth() {
        return width;
    }

    public final int getHeight() {
        return height;
    }
}
