package android.view;

public interface WindowManager {
    class LayoutParams {
        public static final int SOFT_INPUT_ADJUST_RESIZE = 16;
        public static final int FLAG_DRAWS_SYSTEM_BAR_BACKGROUNDS = Integer.MIN_VALUE;
    }
}
